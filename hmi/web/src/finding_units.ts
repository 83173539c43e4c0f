// Unit of a finding's numbers, by code (hmi/openapi.yaml, FindingCode).
export type FindingUnit = "mm" | "deg" | "kN" | "ms" | "s" | "bar" | "growth" | "count";

const units: Readonly<Record<string, FindingUnit>> = {
  rope_diameter_out: "mm", shank_diameter_out: "mm", bore_depth_out: "mm", bore_shallower_than_swage: "mm",
  depth_mark_off: "mm", boundary_mark_off: "mm", rope_not_home: "mm", die_over_solid: "mm", bore_left_unswaged: "mm",
  die_off_position: "mm", overlap_too_small: "mm", position_disagrees_with_sensor: "mm", dies_not_closed: "mm",
  across_flats_over: "mm", across_flats_under: "mm", across_flats_in_guard_band: "mm", bent: "mm", slipped: "mm",
  turn_out: "deg", flats_on_flats: "deg", angle_moved: "deg",
  peak_force_low: "kN", peak_force_high: "kN", force_below_envelope: "kN", force_above_envelope: "kN",
  dwell_short: "ms", trace_contradicts_press: "bar", growth_low: "growth", growth_high: "growth", proof_load_low: "kN", proof_load_short: "s", proof_load_slipped: "mm",
};

/** Nothing for a code that carries no measured value: a count, a number of the press, or none at all. */
export function unit_of_finding(code: string): FindingUnit | undefined {
  return units[code];
}
