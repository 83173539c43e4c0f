// Who drives the press. Only one screen does; every other one says whose it is, watches, and can still stop things.
import { useState } from "preact/hooks";
import { api, type Control, type Station } from "./api";
import { Confirm } from "./confirm";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { clock_time } from "./times";

/** Who holds control at another screen; null when this one may act (it holds control, or nobody does). */
export function held_elsewhere(station: Station): Control | null {
  return station.control === null || station.control.here ? null : station.control;
}

/** Said on every screen that does not drive the press. */
export function ControlBar({ station }: { station: Station }) {
  const desk = useDesk();
  const [asking, setAsking] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const holder = held_elsewhere(station);
  if (holder === null) return null;
  const name = holder.name === "" ? holder.person : holder.name;
  const may_take = ["operator", "technician"].some((role) => desk.person?.roles.includes(role));
  const take = async () => {
    setAsking(false);
    const outcome = await api.take_control(holder.person);
    setTrouble(outcome.kind === "taken" ? null : outcome);
    desk.took_answer(outcome);
  };
  return (
    <section class="control-bar" aria-label={t("common.control")} data-control="elsewhere">
      <p role="status">
        <Sign meaning="neutral" size={26} />
        <span><b>{t("common.control_elsewhere", { name, time: clock_time(holder.since_utc) })}</b> {t("common.control_watching")}</span>
      </p>
      {may_take && <button type="button" class="button" onClick={() => setAsking(true)}>{t("common.control_take")}</button>}
      <TroubleBox trouble={trouble} />
      {asking && (
        <Confirm title={t("common.control_take_title", { name })} yes={t("common.control_take_yes")} onYes={() => void take()} onNo={() => setAsking(false)}>
          <p>{t("common.control_take_text", { name })}</p>
        </Confirm>
      )}
    </section>
  );
}

/** Beside the name of whoever is signed in: whether this screen drives the press. */
export function ControlState({ station }: { station: Station | null }) {
  if (station === null || held_elsewhere(station) !== null) return null;
  const here = station.control !== null;
  return <small class="control-state" data-control={here ? "here" : "free"}>{here ? t("common.control_here") : t("common.control_free")}</small>;
}
