// What has been proven so far, beside what was allowed.
import type { Band, Fitting } from "./api";
import { words } from "./kinds";
import { lower_in_english, t } from "./messages";
import { fixed, length, length_band, useLengthUnit } from "./units";

interface Line { name: string; value: string; allowed: string }

function seen(result: string): string {
  switch (result) {
    case "passes": return t("operator.passes");
    case "stops": return t("operator.stops");
    case "sound": return lower_in_english(t("operator.sound"));
    case "cracked": return lower_in_english(t("operator.cracked"));
    case "lapped": return lower_in_english(t("operator.lapped"));
    case "wires_broken": return lower_in_english(t("operator.wires_broken"));
    default: return words(result);
  }
}

export function EvidenceTable({ fitting }: { fitting: Fitting }) {
  const unit = useLengthUnit();
  const { evidence, limits } = fitting;
  const lines: Line[] = [];
  const add = (name: string, value_mm: number | undefined, allowed: string) => {
    if (value_mm !== undefined) lines.push({ name, value: length(value_mm, unit), allowed });
  };
  const band = (allowed: Band) => length_band(allowed, unit);
  const either_way = (tolerance: number) => `± ${length(tolerance, unit)}`;
  const at_most = (most: number) => t("operator.at_most", { amount: length(most, unit) });
  add(t("operator.rope_diameter"), evidence.rope_diameter_mm, band(limits.rope_diameter_mm));
  add(t("operator.shank_diameter"), evidence.shank_diameter_mm, band(limits.shank_diameter_mm));
  add(t("operator.bore_depth"), evidence.bore_depth_mm, band(limits.bore_depth_mm));
  const mark_band = evidence.bore_depth_mm === undefined ? "" : band({
    least: evidence.bore_depth_mm - limits.mark_tolerance_mm,
    most: evidence.bore_depth_mm + limits.mark_tolerance_mm,
  });
  add(t("operator.line_depth_mark"), evidence.depth_mark_mm, mark_band);
  add(t("operator.line_boundary_mark"), evidence.boundary_mark_mm, mark_band);
  add(t("operator.insertion"), evidence.insertion_mm, either_way(limits.insertion_tolerance_mm));
  if (evidence.edge_mm !== undefined) add(t("operator.line_edge"), evidence.edge_mm, band(fitting.accepted_edge_mm));
  if (evidence.angle_deg !== undefined) lines.push({ name: t("operator.line_angle"), value: `${fixed(evidence.angle_deg, 1)} deg`, allowed: "" });
  if (evidence.across_flats_least_mm !== undefined && evidence.across_flats_most_mm !== undefined) {
    lines.push({
      name: t("operator.across_flats"),
      value: length_band({ least: evidence.across_flats_least_mm, most: evidence.across_flats_most_mm }, unit, 3),
      allowed: length_band(limits.across_flats_mm, unit, 3),
    });
  }
  const limit_gauge = (name: string, result: string | undefined, allowed: string) => {
    if (result !== undefined && result !== "not_tried") lines.push({ name, value: seen(result), allowed });
  };
  limit_gauge(t("operator.line_go"), evidence.go, t("operator.passes"));
  limit_gauge(t("operator.line_no_go"), evidence.no_go, t("operator.stops"));
  if (evidence.growth !== undefined) {
    lines.push({
      name: t("operator.line_growth"), value: `${fixed(evidence.growth * 100, 1)} %`,
      allowed: `${t("common.band", { least: fixed(limits.growth.least * 100, 1), most: fixed(limits.growth.most * 100, 1) })} %`,
    });
  }
  add(t("operator.straightness"), evidence.straightness_mm, at_most(limits.straightness_mm_max));
  add(t("operator.line_slip"), evidence.slip_mm, at_most(limits.slip_mm_max));
  limit_gauge(t("operator.line_surface"), evidence.surface === "not_looked_at" ? undefined : evidence.surface, seen("sound"));
  if (lines.length === 0) return <p class="hint">{t("operator.nothing_measured")}</p>;
  return (
    <table class="evidence">
      <thead><tr><th scope="col">{t("operator.measured_so_far")}</th><th scope="col">{t("operator.value")}</th><th scope="col">{t("operator.allowed")}</th></tr></thead>
      <tbody>
        {lines.map((line) => (
          <tr key={line.name}><th scope="row">{line.name}</th><td>{line.value}</td><td>{line.allowed}</td></tr>
        ))}
      </tbody>
    </table>
  );
}
