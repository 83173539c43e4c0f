// How far work is: a bar for the eye, and the same in words.
import type { Tally } from "./api";
import { t } from "./messages";

type Part = "released" | "accepted" | "under_way" | "held";

export function tally_words(tally: Tally): string {
  const said = [t("planner.released_of", { count: tally.released, wanted: tally.wanted })];
  if (tally.accepted > 0) said.push(t("planner.accepted_count", { count: tally.accepted }));
  if (tally.under_way > 0) said.push(t("planner.under_way_count", { count: tally.under_way }));
  if (tally.held > 0) said.push(t("planner.held_count", { count: tally.held }));
  if (tally.scrapped > 0) said.push(t("planner.scrapped_count", { count: tally.scrapped }));
  const made = tally.released + tally.accepted + tally.under_way + tally.held;
  if (made > tally.wanted) said.push(t("planner.more_than_wanted", { count: made - tally.wanted }));
  return said.join(", ");
}

export function ProgressBar({ tally, label }: { tally: Tally; label: string }) {
  const made = tally.released + tally.accepted + tally.under_way + tally.held;
  const whole = Math.max(tally.wanted, made, 1);
  const parts: readonly Part[] = ["released", "accepted", "under_way", "held"];
  return (
    <div class="job-progress">
      <div class="bar" role="progressbar" aria-label={label} aria-valuemin={0} aria-valuemax={tally.wanted} aria-valuenow={Math.min(tally.released, tally.wanted)} aria-valuetext={tally_words(tally)}>
        {parts.map((part) => tally[part] > 0 && <span key={part} class={`bar-${part}`} style={{ width: `${(100 * tally[part]) / whole}%` }} />)}
      </div>
      <p>{tally_words(tally)}</p>
    </div>
  );
}
