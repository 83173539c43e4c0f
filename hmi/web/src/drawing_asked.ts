// What the present step asks to be measured, as a dimension in the drawing; and the drawing's own copy of the evidence
// with the reading that is being typed laid over it, so that what is wrong is seen before it is recorded. Pure.
import type { Evidence, Fitting } from "./api";
import type { Geometry } from "./drawing_geometry";
import type { Draft } from "./readings";

/** From here to there along the axis, or across it at one place; mm in the sense of drawing_geometry.ts. */
export type Dimension =
  | { way: "along"; from_mm: number; to_mm: number }
  | { way: "across"; at_mm: number; half_mm: number };

function overlay(fitting: Fitting, draft: Draft): Evidence {
  const { evidence, drawing } = fitting;
  switch (draft.input) {
    case "rope_diameter": return { ...evidence, rope_diameter_mm: draft.value };
    case "shank_diameter": return { ...evidence, shank_diameter_mm: draft.value };
    case "bore_depth": return { ...evidence, bore_depth_mm: draft.value };
    case "depth_mark": return { ...evidence, depth_mark_mm: draft.value };
    case "boundary_mark": return { ...evidence, boundary_mark_mm: draft.value };
    case "insertion": return { ...evidence, insertion_mm: draft.value };
    case "position": return { ...evidence, edge_mm: draft.value };
    case "growth": {
      const grown_mm = draft.value - (evidence.boundary_mark_mm ?? draft.value);
      return drawing.swage_length_mm > 0 ? { ...evidence, growth: grown_mm / drawing.swage_length_mm } : evidence;
    }
    default: return evidence;
  }
}

/** A reading typed by mistake (a missing point) must not blow up the drawing: beyond this it is drawn as if not typed. */
const drawn_most_mm = 400;

export function with_draft(fitting: Fitting, draft: Draft | null): Fitting {
  if (draft === null || !Number.isFinite(draft.value) || Math.abs(draft.value) > drawn_most_mm) return fitting;
  const positive = ["rope_diameter", "shank_diameter", "bore_depth", "depth_mark", "boundary_mark"].includes(draft.input);
  return positive && draft.value <= 0 ? fitting : { ...fitting, evidence: overlay(fitting, draft) };
}

export function asked_dimension(input: string, fitting: Fitting, g: Geometry): Dimension | null {
  const bore_mm = g.mouth_mm;
  switch (input) {
    case "rope_diameter": return { way: "across", at_mm: (g.rope_end_mm + g.right_mm) / 2, half_mm: g.rope_diameter_mm / 2 };
    case "shank_diameter": return { way: "across", at_mm: -g.solid_mm / 2, half_mm: g.shank_diameter_mm / 2 };
    case "bore_depth": return { way: "along", from_mm: 0, to_mm: bore_mm };
    case "depth_mark": return { way: "along", from_mm: g.rope_end_mm, to_mm: g.depth_mark_mm ?? g.rope_end_mm + bore_mm };
    case "boundary_mark": return { way: "along", from_mm: g.boundary_mark_mm ?? 0, to_mm: bore_mm };
    case "insertion":
    case "slip": return g.depth_mark_mm === null ? null : { way: "along", from_mm: g.mouth_mm, to_mm: g.depth_mark_mm };
    case "position": return { way: "along", from_mm: g.boundary_mark_mm ?? 0, to_mm: g.proven_edge_mm ?? g.planned_edge_mm ?? 0 };
    case "growth": return { way: "along", from_mm: g.boundary_mark_mm ?? 0, to_mm: g.mouth_mm };
    case "across_flats": return { way: "across", at_mm: fitting.drawing.swage_length_mm / 2, half_mm: fitting.drawing.die_across_flats_mm / 2 };
    case "straightness": return { way: "along", from_mm: 0, to_mm: g.mouth_mm };
    default: return null;
  }
}
