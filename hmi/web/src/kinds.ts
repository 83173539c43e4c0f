// What each kind of evidence is, for the form that takes it: which gauges read it, what its sign means.
// The station judges the gauge again; this only keeps the wrong ones out of the list.

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

const mark_at_mouth: Signed = {
  question: "Where does the depth mark stand?",
  plus: "Outside the mouth (+)",
  minus: "Inside the mouth (−)",
};

/** Distances along the rope or shank. */
const along: readonly string[] = ["rule", "caliper", "depth_rod", "tape"];

const kinds: Record<string, Kind> = {
  rope_diameter: { label: "Rope diameter", gauges: ["caliper", "micrometer"], decimals_mm: 2 },
  shank_diameter: { label: "Shank diameter", gauges: ["micrometer", "caliper"], decimals_mm: 2 },
  bore_depth: { label: "Bore depth", gauges: ["depth_rod", "caliper"], decimals_mm: 2 },
  depth_mark: { label: "Rope's end to depth mark", gauges: along, decimals_mm: 2 },
  boundary_mark: { label: "Mouth to boundary mark", gauges: along, decimals_mm: 2 },
  insertion: { label: "Depth mark to mouth", gauges: along, signed: mark_at_mouth, decimals_mm: 2 },
  position: {
    label: "Boundary mark to die edge",
    gauges: along,
    signed: {
      question: "On which side of the boundary mark is the die edge?",
      plus: "Toward the mouth (+)",
      minus: "Over the solid (−)",
    },
    decimals_mm: 2,
  },
  turn: { label: "Angle from the first pass", gauges: ["protractor"], decimals_mm: 1 },
  reseated: { label: "Angle after putting it back", gauges: ["protractor"], decimals_mm: 1 },
  across_flats: { label: "Across flats", gauges: ["micrometer", "caliper"], decimals_mm: 3 },
  growth: { label: "Boundary mark to mouth, after pressing", gauges: along, decimals_mm: 2 },
  straightness: { label: "Out of straight", gauges: ["straight_edge"], decimals_mm: 2 },
  slip: { label: "Depth mark to mouth, after pressing", gauges: along, signed: mark_at_mouth, decimals_mm: 2 },
};

export function kind_of(input: string): Kind {
  return kinds[input] ?? { label: words(input), gauges: [], decimals_mm: 2 };
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
