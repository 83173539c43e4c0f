// Where everything lies along the axis, in mm from the bore end, positive toward the mouth: the sense of the press
// map's edge distance. Pure; the drawing only scales it.
import type { Fitting, Press } from "./api";

export interface Geometry {
  solid_mm: number;          ///< length of solid shown beyond the bore end
  right_mm: number;          ///< how far the drawing reaches past the bore end
  mouth_mm: number;
  pressed: boolean;          ///< on the whole length: drawn at the dies' across flats, the bore closed on the rope
  mouth_has_moved: boolean;  ///< pressed and not measured again: the mouth is drawn where it was
  shank_diameter_mm: number;
  bore_diameter_mm: number;
  rope_diameter_mm: number;
  rope_end_mm: number;       ///< where the rope's end lies
  depth_mark_mm: number | null;
  boundary_mark_mm: number | null;
  planned_edge_mm: number | null;
  accepted_edge: { least: number; most: number } | null;
  proven_edge_mm: number | null;
  sensed_edge_mm: number | null;
  die_length_mm: number;
  die_opening_mm: number;    ///< from the axis to a die's working face
  die_opening_mm_max: number; ///< the most that is drawn, so that the drawing keeps its height
  known: { shank: boolean; bore: boolean; rope: boolean };
}

/** Dies farther apart than this are drawn this far apart. */
const gap_mm_max = 5;

const middle = (band: { least: number; most: number }) => (band.least + band.most) / 2;

export function geometry(fitting: Fitting, press: Press, live: boolean): Geometry {
  const { evidence, limits, drawing } = fitting;
  const bore_depth = evidence.bore_depth_mm ?? middle(limits.bore_depth_mm);
  const grown = evidence.growth === undefined ? 0 : evidence.growth * drawing.swage_length_mm;
  const mouth = bore_depth + grown;
  const inserted = evidence.insertion_mm !== undefined && evidence.depth_mark_mm !== undefined;
  const waiting_gap = Math.max(6, 0.25 * bore_depth); // rope drawn outside until it is proven home
  const rope_end = inserted
    ? mouth + (evidence.insertion_mm ?? 0) - (evidence.depth_mark_mm ?? 0) - grown
    : mouth + waiting_gap;
  const depth_mark = evidence.depth_mark_mm === undefined ? null : rope_end + evidence.depth_mark_mm + (inserted ? grown : 0);
  const pressing = ["position", "permit_recorded", "permit_given", "biting"].includes(fitting.stage);
  const right = Math.max(mouth + waiting_gap + (inserted ? 0.3 : 1.2) * bore_depth, (fitting.planned_edge_mm ?? 0) + drawing.die_length_mm + 4);
  const gap = live && press.gap_mm !== null ? Math.min(Math.max(press.gap_mm, 0), gap_mm_max) : gap_mm_max;
  return {
    solid_mm: Math.max(10, 0.35 * bore_depth),
    right_mm: right,
    mouth_mm: mouth,
    pressed: fitting.bites_done > 0 && ["gauge", "accepted", "released"].includes(fitting.stage),
    mouth_has_moved: fitting.bites_done > 0 && evidence.growth === undefined,
    shank_diameter_mm: evidence.shank_diameter_mm ?? middle(limits.shank_diameter_mm),
    bore_diameter_mm: drawing.bore_diameter_mm,
    rope_diameter_mm: evidence.rope_diameter_mm ?? drawing.rope_nominal_diameter_mm,
    rope_end_mm: rope_end,
    depth_mark_mm: depth_mark,
    boundary_mark_mm: evidence.boundary_mark_mm === undefined ? null : bore_depth - evidence.boundary_mark_mm,
    planned_edge_mm: pressing ? fitting.planned_edge_mm : null,
    accepted_edge: pressing ? fitting.accepted_edge_mm : null,
    proven_edge_mm: pressing && evidence.edge_mm !== undefined ? evidence.edge_mm : null,
    sensed_edge_mm: pressing && live && press.position_sensor_fitted && press.shank_present ? press.edge_distance_mm : null,
    die_length_mm: drawing.die_length_mm,
    die_opening_mm: drawing.die_across_flats_mm / 2 + gap / 2,
    die_opening_mm_max: drawing.die_across_flats_mm / 2 + gap_mm_max / 2,
    known: {
      shank: evidence.shank_diameter_mm !== undefined,
      bore: evidence.bore_depth_mm !== undefined,
      rope: evidence.rope_diameter_mm !== undefined,
    },
  };
}
