// The planner's part: jobs, their cut lists and how far they are.
import { t } from "./messages";

export function Jobs(_: { path: readonly string[] }) {
  return <main class="card"><h2>{t("common.part_jobs")}</h2></main>;
}
