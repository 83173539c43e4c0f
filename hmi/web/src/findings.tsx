// Refusals and findings: what is missing, by how much, what to do. The sentences are the station's.
import type { Finding, Outcome } from "./api";
import { t } from "./messages";
import { Sign } from "./signs";
import { unit_of_finding } from "./finding_units";
import { finding_number, finding_words } from "./station_words";
import { useLengthUnit, type LengthUnit } from "./units";

/** "1.60 mm over the limit", or "" where there is no number to compare. The station's sentence says what was found in
 *  its own unit; a device set to inches is told in inches as well. */
export function by_how_much(finding: Finding, length_unit: LengthUnit): string {
  const unit = unit_of_finding(finding.code);
  if (unit === undefined) return "";
  const { found, least, most } = finding;
  if (found === null || least === null || most === null) return "";
  const limit = found > most && most >= least ? most : found < least ? least : null;
  if (limit === null) return "";
  const by = { amount: finding_number(Math.abs(found - limit), unit) };
  const amount = found > limit ? t("common.over_limit", by) : t("common.under_limit", by);
  if (unit !== "mm" || length_unit === "mm") return amount;
  return t("common.found_against_limit", { found: finding_number(found, unit), limit: finding_number(limit, unit), amount });
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
                <strong>{finding_words(finding).what}</strong>
                {amount !== "" && <span class="amount"> {amount}</span>}
              </span>
            );
          })}
          <Remedy of={group[0]} />
        </li>
      ))}
    </ul>
  );
}

function Remedy({ of }: { of: Finding | undefined }) {
  const what_to_do = of === undefined ? "" : finding_words(of).what_to_do;
  return what_to_do === "" ? null : <span class="remedy"><b>{t("common.do_this")}</b> {what_to_do}</span>;
}

/** A JSON pointer into an evidence body as people count: "reading 1", "station 2, flats 3". */
export function place_in_words(place: string): string {
  const value = /^\/values\/(\d+)$/.exec(place);
  if (value !== null) return t("common.place_reading", { number: Number(value[1]) + 1 });
  const station = /^\/stations\/(\d+)\/(\d+)$/.exec(place);
  if (station !== null) return t("common.place_station", { station: Number(station[1]) + 1, flats: Number(station[2]) + 1 });
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
          <p class="notice-title"><Sign meaning="abnormal" />{t("common.refused")}</p>
          {trouble.findings.length > 0 ? <FindingList findings={trouble.findings} /> : <p>{t("common.no_reason")}</p>}
        </section>
      );
    case "problem":
      if (trouble.tries !== undefined) {
        return (
          <section class="notice abnormal">
            <p class="notice-title"><Sign meaning="abnormal" />{trouble.status === 429 ? t("common.wait_for_pin") : t("common.not_your_pin")}</p>
            <p>{trouble.tries.wait_s > 0 ? t("common.nothing_recorded_wait", { seconds: trouble.tries.wait_s }) : t("common.nothing_recorded_tries", { count: trouble.tries.tries_left })}</p>
          </section>
        );
      }
      return (
        <section class="notice abnormal">
          <p class="notice-title"><Sign meaning="abnormal" />{trouble.status >= 500 ? t("common.station_fault") : trouble.status === 422 ? t("common.refused") : t("common.not_understood")}</p>
          <ul class="findings">
            <li>
              <strong>{trouble.problem.found === "" ? t("common.found_nothing") : t("common.found_text", { found: trouble.problem.found })}</strong>
              <span class="remedy"><b>{t("common.expected")}</b> {trouble.problem.expected}</span>
              {trouble.problem.place !== "" && <span class="amount">{t("common.at_place", { place: place_in_words(trouble.problem.place) })}</span>}
            </li>
          </ul>
        </section>
      );
    case "signed_out":
      return (
        <section class="notice abnormal">
          <p class="notice-title"><Sign meaning="abnormal" />{t("common.nobody_signed_in")}</p>
          <p>{t("common.sign_in_again")}</p>
        </section>
      );
    case "unreachable":
      return (
        <section class="notice abnormal">
          <p class="notice-title"><Sign meaning="abnormal" />{t("common.no_answer")}</p>
          <p>{t("common.no_answer_text")}</p>
        </section>
      );
  }
}
