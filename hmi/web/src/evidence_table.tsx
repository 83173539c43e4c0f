// What has been proven so far, beside what was allowed.
import type { Band, Fitting } from "./api";
import { words } from "./kinds";
import { fixed, length, length_band, useLengthUnit } from "./units";

interface Line { name: string; value: string; allowed: string }

export function EvidenceTable({ fitting }: { fitting: Fitting }) {
  const unit = useLengthUnit();
  const { evidence, limits } = fitting;
  const lines: Line[] = [];
  const add = (name: string, value_mm: number | undefined, allowed: string) => {
    if (value_mm !== undefined) lines.push({ name, value: length(value_mm, unit), allowed });
  };
  const band = (allowed: Band) => length_band(allowed, unit);
  const either_way = (tolerance: number) => `± ${length(tolerance, unit)}`;
  const at_most = (most: number) => `at most ${length(most, unit)}`;
  add("Rope diameter", evidence.rope_diameter_mm, band(limits.rope_diameter_mm));
  add("Shank diameter", evidence.shank_diameter_mm, band(limits.shank_diameter_mm));
  add("Bore depth", evidence.bore_depth_mm, band(limits.bore_depth_mm));
  const mark_band = evidence.bore_depth_mm === undefined ? "" : band({
    least: evidence.bore_depth_mm - limits.mark_tolerance_mm,
    most: evidence.bore_depth_mm + limits.mark_tolerance_mm,
  });
  add("Depth mark", evidence.depth_mark_mm, mark_band);
  add("Boundary mark", evidence.boundary_mark_mm, mark_band);
  add("Depth mark to mouth", evidence.insertion_mm, either_way(limits.insertion_tolerance_mm));
  if (evidence.edge_mm !== undefined) add("Die edge to bore end", evidence.edge_mm, band(fitting.accepted_edge_mm));
  if (evidence.angle_deg !== undefined) lines.push({ name: "Angle of this pass", value: `${fixed(evidence.angle_deg, 1)} deg`, allowed: "" });
  if (evidence.across_flats_least_mm !== undefined && evidence.across_flats_most_mm !== undefined) {
    lines.push({
      name: "Across flats",
      value: length_band({ least: evidence.across_flats_least_mm, most: evidence.across_flats_most_mm }, unit, 3),
      allowed: length_band(limits.across_flats_mm, unit, 3),
    });
  }
  const limit_gauge = (name: string, result: string | undefined, allowed: string) => {
    if (result !== undefined && result !== "not_tried") lines.push({ name, value: words(result), allowed });
  };
  limit_gauge("Go gauge", evidence.go, "passes");
  limit_gauge("No-go gauge", evidence.no_go, "stops");
  if (evidence.growth !== undefined) {
    lines.push({
      name: "Growth", value: `${fixed(evidence.growth * 100, 1)} %`,
      allowed: `${fixed(limits.growth.least * 100, 1)} to ${fixed(limits.growth.most * 100, 1)} %`,
    });
  }
  add("Out of straight", evidence.straightness_mm, at_most(limits.straightness_mm_max));
  add("Slip", evidence.slip_mm, at_most(limits.slip_mm_max));
  limit_gauge("Surface", evidence.surface === "not_looked_at" ? undefined : evidence.surface, "sound");
  if (lines.length === 0) return <p class="hint">Nothing measured yet.</p>;
  return (
    <table class="evidence">
      <thead><tr><th scope="col">Measured so far</th><th scope="col">Value</th><th scope="col">Allowed</th></tr></thead>
      <tbody>
        {lines.map((line) => (
          <tr key={line.name}><th scope="row">{line.name}</th><td>{line.value}</td><td>{line.allowed}</td></tr>
        ))}
      </tbody>
    </table>
  );
}
