// The technician's part: the press's health, what falls due, force calibration, trials, drafts, traces side by side.
import type { LivePicture } from "./live";
import { t, type MessageKey } from "./messages";
import { address_of } from "./routes";
import { Calibration } from "./workshop_calibration";
import { Compare } from "./workshop_compare";
import { Drafts } from "./workshop_drafts";
import { FallsDue } from "./workshop_due";
import { Health } from "./workshop_health";
import { Trials } from "./workshop_trial";

const parts = ["health", "due", "calibration", "trials", "drafts", "compare"] as const;
type Part = (typeof parts)[number];
const names: Record<Part, MessageKey> = {
  health: "technician.part_health", due: "technician.part_due", calibration: "technician.part_calibration",
  trials: "technician.part_trials", drafts: "technician.part_drafts", compare: "technician.part_compare",
};

export function Workshop({ path, picture }: { path: readonly string[]; picture: LivePicture }) {
  const part = parts.find((known) => known === path[0]) ?? "health";
  return (
    <main class="workshop">
      <nav class="workshop-parts" aria-label={t("technician.parts")}>
        {parts.map((one) => (
          <a class="tab" key={one} href={address_of({ view: "workshop", path: [one] })} aria-current={one === part ? "page" : undefined}>
            {t(names[one] as "technician.part_health")}
          </a>
        ))}
      </nav>
      {part === "health" && <Health picture={picture} />}
      {part === "due" && <FallsDue />}
      {part === "calibration" && <Calibration picture={picture} />}
      {part === "trials" && <Trials />}
      {part === "drafts" && <Drafts chosen={path[1] ?? ""} />}
      {part === "compare" && <Compare first={path[1] ?? ""} />}
    </main>
  );
}
