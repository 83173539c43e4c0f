// The top of every screen: the parts of the page this person has business in, unit and language of this device, and
// who is signed in.
import type { Person, Station } from "./api";
import { ControlState } from "./control";
import { EndShift } from "./end_shift";
import { choose_language, languages, t, useLanguage } from "./messages";
import { address_of, type Route, type View } from "./routes";
import { useDesk } from "./session";
import { choose_length_unit, useLengthUnit } from "./units";

interface Part { view: View; text: () => string; for_role: (roles: readonly string[]) => boolean }

const anybody = () => true;
const with_role = (...wanted: readonly string[]) => (roles: readonly string[]) => wanted.some((role) => roles.includes(role));

/** In the order of the bar. A part hidden here is still guarded by the station: this only keeps the bar short. */
const parts: readonly Part[] = [
  { view: "press", text: () => t("common.part_press"), for_role: anybody },
  { view: "jobs", text: () => t("common.part_jobs"), for_role: with_role("planner", "technician", "administrator") },
  { view: "workshop", text: () => t("common.part_workshop"), for_role: with_role("technician", "reviewer") },
  { view: "find", text: () => t("common.part_find"), for_role: anybody },
  { view: "quarantine", text: () => t("common.part_quarantine"), for_role: with_role("reviewer", "technician") },
  { view: "people", text: () => t("common.part_people"), for_role: with_role("administrator") },
];

function parts_for(person: Person | null): readonly Part[] {
  return parts.filter((part) => part.for_role(person?.roles ?? []));
}

export function Header({ station, route }: { station: Station | null; route: Route }) {
  const desk = useDesk();
  const waiting = (station?.held.length ?? 0) + (station?.set_aside.length ?? 0);
  return (
    <header class="top">
      <h1>{station?.name ?? t("common.station")}</h1>
      <nav aria-label={t("common.page_parts")}>
        {parts_for(desk.person).map(({ view, text }) => (
          <a class="tab" key={view} href={address_of({ view })} aria-current={route.view === view ? "page" : undefined}>
            {text()}{view === "press" && waiting > 0 && <span class="more">{t("common.some_waiting", { count: waiting })}</span>}
          </a>
        ))}
      </nav>
      <DeviceChoices />
      {desk.person !== null && (
        <div class="who">
          <span class="who-name">{desk.person.name}<ControlState station={station} /></span>
          {desk.person.roles.includes("operator") && <EndShift station={station} />}
          <button type="button" class="button" onClick={() => void desk.sign_out()}>{t("common.sign_out")}</button>
        </div>
      )}
    </header>
  );
}

/** What this device keeps for whoever stands at it. */
function DeviceChoices() {
  const unit = useLengthUnit();
  const language = useLanguage();
  const at = languages.findIndex((one) => one.id === language);
  const other = languages[(at + 1) % languages.length] ?? languages[0];
  return (
    <div class="device">
      <div class="units" role="group" aria-label={t("common.unit_of_length")}>
        <button type="button" class="tab" aria-pressed={unit === "mm"} onClick={() => choose_length_unit("mm")}>mm</button>
        <button type="button" class="tab" aria-pressed={unit === "in"} onClick={() => choose_length_unit("in")}>inch</button>
      </div>
      {/* Named in its own language: who cannot read this page must still find the way to theirs. */}
      <button type="button" class="tab language" data-language={other.id} title={t("common.language_of_page", { language: other.own_name })}
        onClick={() => choose_language(other.id)}><span lang={other.id}>{other.own_name}</span></button>
    </div>
  );
}
