// Refusals and findings: what is missing, by how much, what to do. The sentences are the station's.
import type { Finding, Outcome } from "./api";
import { Sign } from "./signs";
import { fixed, length, useLengthUnit, type LengthUnit } from "./units";

/** Unit of a finding's numbers, by code (controller/procedure/finding.hpp). Codes not listed carry no measured value. */
const finding_unit: Record<string, "mm" | "deg" | "kN" | "ms" | "bar" | "growth"> = {
  rope_diameter_out: "mm", shank_diameter_out: "mm", bore_depth_out: "mm", bore_shallower_than_swage: "mm",
  depth_mark_off: "mm", boundary_mark_off: "mm", rope_not_home: "mm", die_over_solid: "mm", bore_left_unswaged: "mm",
  die_off_position: "mm", overlap_too_small: "mm", position_disagrees_with_sensor: "mm", dies_not_closed: "mm",
  across_flats_over: "mm", across_flats_under: "mm", across_flats_in_guard_band: "mm", bent: "mm", slipped: "mm",
  turn_out: "deg", flats_on_flats: "deg", angle_moved: "deg",
  peak_force_low: "kN", peak_force_high: "kN", force_below_envelope: "kN", force_above_envelope: "kN",
  dwell_short: "ms", trace_contradicts_press: "bar", growth_low: "growth", growth_high: "growth",
};

function show(value: number, unit: string, length_unit: LengthUnit): string {
  if (unit === "mm") return length(value, length_unit);
  if (unit === "growth") return `${fixed(value * 100, 1)} %`;
  if (unit === "ms") return `${fixed(value, 0)} ms`;
  return `${fixed(value, 1)} ${unit}`;
}

/** "1.60 mm over the limit", or "" where there is no number to compare. The station's sentence says what was found in
 *  its own unit; a device set to inches is told in inches as well. */
export function by_how_much(finding: Finding, length_unit: LengthUnit): string {
  const unit = finding_unit[finding.code];
  if (unit === undefined) return "";
  const { found, least, most } = finding;
  if (found === null || least === null || most === null) return "";
  const limit = found > most && most >= least ? most : found < least ? least : null;
  if (limit === null) return "";
  const amount = `${show(Math.abs(found - limit), unit, length_unit)} ${found > limit ? "over" : "under"} the limit`;
  if (unit !== "mm" || length_unit === "mm") return amount;
  return `${show(found, unit, length_unit)}, limit ${show(limit, unit, length_unit)}: ${amount}`;
}

/** Findings of one code together: three readings that are all out want one remedy. */
function by_code(findings: readonly Finding[]): Finding[][] {
  const groups = new Map<string, Finding[]>();
  for (const finding of findings) groups.set(finding.code, [...(groups.get(finding.code) ?? []), finding]);
  return [...groups.values()];
}

export function FindingList({ findings }: { findings: readonly Finding[] }) {
  const length_unit = useLengthUnit();
  return (
    <ul class="findings">
      {by_code(findings).map((group) => (
        <li key={group[0]?.code} data-code={group[0]?.code}>
          {group.map((finding, index) => {
            const amount = by_how_much(finding, length_unit);
            return (
              <span class="one-finding" key={index}>
                <strong>{finding.what}</strong>
                {amount !== "" && <span class="amount"> {amount}</span>}
              </span>
            );
          })}
          {group[0] !== undefined && group[0].what_to_do !== "" && <span class="remedy"><b>Do this:</b> {group[0].what_to_do}</span>}
        </li>
      ))}
    </ul>
  );
}

/** A JSON pointer into an evidence body as people count: "reading 1", "station 2, flats 3". */
export function place_in_words(place: string): string {
  const value = /^\/values\/(\d+)$/.exec(place);
  if (value !== null) return `reading ${Number(value[1]) + 1}`;
  const station = /^\/stations\/(\d+)\/(\d+)$/.exec(place);
  if (station !== null) return `station ${Number(station[1]) + 1}, flats ${Number(station[2]) + 1}`;
  return place;
}

/** Why the last thing asked for did not happen. */
export type Trouble = Exclude<Outcome<unknown>, { kind: "taken" }>;

export function TroubleBox({ trouble }: { trouble: Trouble | null }) {
  return <div role="alert">{trouble !== null && <TroubleText trouble={trouble} />}</div>;
}

function TroubleText({ trouble }: { trouble: Trouble }) {
  switch (trouble.kind) {
    case "refused":
      return (
        <section class="notice abnormal">
          <h3><Sign meaning="abnormal" />Refused</h3>
          {trouble.findings.length > 0 ? <FindingList findings={trouble.findings} /> : <p>The station gave no reason.</p>}
        </section>
      );
    case "problem":
      if (trouble.tries !== undefined) {
        return (
          <section class="notice abnormal">
            <h3><Sign meaning="abnormal" />{trouble.status === 429 ? "Wait before the next PIN" : "That is not your PIN"}</h3>
            <p>Nothing was recorded. {trouble.tries.wait_s > 0 ? `The next try may be made in ${trouble.tries.wait_s} s.` : `${trouble.tries.tries_left} more may fail before a wait.`}</p>
          </section>
        );
      }
      return (
        <section class="notice abnormal">
          <h3><Sign meaning="abnormal" />{trouble.status >= 500 ? "The station has a fault" : "Not understood"}</h3>
          <ul class="findings">
            <li>
              <strong>Found {trouble.problem.found === "" ? "nothing" : `“${trouble.problem.found}”`}</strong>
              <span class="remedy"><b>Expected:</b> {trouble.problem.expected}</span>
              {trouble.problem.place !== "" && <span class="amount">at {place_in_words(trouble.problem.place)}</span>}
            </li>
          </ul>
        </section>
      );
    case "signed_out":
      return (
        <section class="notice abnormal">
          <h3><Sign meaning="abnormal" />Nobody is signed in</h3>
          <p>Sign in again, then repeat the last entry.</p>
        </section>
      );
    case "unreachable":
      return (
        <section class="notice abnormal">
          <h3><Sign meaning="abnormal" />No answer from the station</h3>
          <p>It is not known whether this was recorded. Wait until the picture is live again and look at what it asks for next.</p>
        </section>
      );
  }
}
