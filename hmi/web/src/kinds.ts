// What each kind of evidence is, for the form that takes it: which gauges read it, what its sign means.
// The station judges the gauge again; this only keeps the wrong ones out of the list.

import { t } from "./messages";

export interface Signed {
  question: string;
  plus: string;
  minus: string;
}

export interface Kind {
  label: string;
  gauges: readonly string[];
  signed?: Signed;
  decimals_mm: number;
}

/** Distances along the rope or shank. */
const along: readonly string[] = ["rule", "caliper", "depth_rod", "tape"];

const mark_at_mouth = (): Signed => ({
  question: t("operator.where_depth_mark"), plus: t("operator.outside_mouth"), minus: t("operator.inside_mouth"),
});

/** The kind of evidence by the station's name for it; the name itself where this page does not know it. */
export function kind_of(input: string): Kind {
  switch (input) {
    case "rope_diameter": return { label: t("operator.rope_diameter"), gauges: ["caliper", "micrometer"], decimals_mm: 2 };
    case "shank_diameter": return { label: t("operator.shank_diameter"), gauges: ["micrometer", "caliper"], decimals_mm: 2 };
    case "bore_depth": return { label: t("operator.bore_depth"), gauges: ["depth_rod", "caliper"], decimals_mm: 2 };
    case "depth_mark": return { label: t("operator.depth_mark"), gauges: along, decimals_mm: 2 };
    case "boundary_mark": return { label: t("operator.boundary_mark"), gauges: along, decimals_mm: 2 };
    case "insertion": return { label: t("operator.insertion"), gauges: along, signed: mark_at_mouth(), decimals_mm: 2 };
    case "position": return {
      label: t("operator.position"), gauges: along, decimals_mm: 2,
      signed: { question: t("operator.where_die_edge"), plus: t("operator.toward_mouth"), minus: t("operator.over_solid") },
    };
    case "turn": return { label: t("operator.turn"), gauges: ["protractor"], decimals_mm: 1 };
    case "reseated": return { label: t("operator.reseated"), gauges: ["protractor"], decimals_mm: 1 };
    case "across_flats": return { label: t("operator.across_flats"), gauges: ["micrometer", "caliper"], decimals_mm: 3 };
    case "growth": return { label: t("operator.growth"), gauges: along, decimals_mm: 2 };
    case "straightness": return { label: t("operator.straightness"), gauges: ["straight_edge"], decimals_mm: 2 };
    case "slip": return { label: t("operator.slip"), gauges: along, signed: mark_at_mouth(), decimals_mm: 2 };
    default: return { label: words(input), gauges: [], decimals_mm: 2 };
  }
}

/** "depth_rod" -> "depth rod" */
export function words(name: string): string {
  return name.replace(/_/g, " ");
}

/** "depth_rod" -> "Depth rod" */
export function sentence(name: string): string {
  const text = words(name);
  return text.charAt(0).toUpperCase() + text.slice(1);
}
