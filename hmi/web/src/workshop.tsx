// The technician's part: the press's health, dies and gauges, calibration, trials, drafts.
import type { LivePicture } from "./live";
import { t } from "./messages";

export function Workshop(_: { path: readonly string[]; picture: LivePicture }) {
  return <main class="card"><h2>{t("common.part_workshop")}</h2></main>;
}
