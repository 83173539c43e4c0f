// A fitting as the scripted station tells it: the order of work, limits and drawing of one invented recipe. Demo data.
// Only as much judgement as the page needs to be tried: values outside their limits are refused with a finding.

export const recipe = {
  id: "demo-7x19-4.76-hexagon", revision: 3, status: "released", family: "straight-shank-hexagon",
  rope: "demo-rope-7x19-4.76", terminal: "demo-terminal-9.12", die_pair: "demo-hexagon-7.95", press: "demo-press",
};

export const limits = {
  rope_diameter_mm: { least: 4.69, most: 5.0 },
  shank_diameter_mm: { least: 9.05, most: 9.2 },
  bore_depth_mm: { least: 51.0, most: 53.0 },
  mark_tolerance_mm: 0.5,
  insertion_tolerance_mm: 0.8,
  across_flats_mm: { least: 7.9, most: 8.05 },
  growth: { least: 0.08, most: 0.16 },
  straightness_mm_max: 0.3,
  slip_mm_max: 0.5,
  closed_gap_mm: 0.05,
};

export const drawing = {
  bore_diameter_mm: 5.16, swage_length_mm: 46, die_length_mm: 19, die_shape: "hexagon", die_across_flats_mm: 7.95,
  rope_nominal_diameter_mm: 4.76, construction: "7x19",
};

const envelopes = [
  [[2, 20, 90], [1.5, 70, 170], [1, 140, 260], [0.5, 230, 360], [0.05, 330, 480]],
  [[1, 5, 110], [0.5, 120, 280], [0.05, 300, 480]],
].map((points) => points.map(([gap_mm, least_kn, most_kn]) => ({ gap_mm, least_kn, most_kn })));
export const envelope_of = (pass) => envelopes[Math.min(Math.max(pass, 1), envelopes.length) - 1];

export const passes = 2;
export const bites_in_pass = 3;
const planned_edges = [1.5, 15.5, 29.5];
export const planned_edge = (fitting) => planned_edges[Math.min(fitting.bite, planned_edges.length - 1)];

/** What is wanted now, in the order of work. Each: code, title, detail, input, unit, readings, limits. */
export function next_of(fitting, press) {
  const { evidence, stage } = fitting;
  const want = (code, title, detail, input = "", unit = "", least = 0, most = 0, readings = 1) =>
    ({ code, title, detail, input, unit, readings, least, most });
  const band = (code, title, detail, input, allowed, readings = 1) =>
    want(code, title, detail, input, "mm", allowed.least, allowed.most, readings);
  const about = (middle, tolerance) => ({ least: middle - tolerance, most: middle + tolerance });
  switch (stage) {
    case "measure":
      if (evidence.rope_diameter_mm === undefined) return band("measure_rope", "Measure the rope", "Across the crowns, 3 readings at different places.", "rope_diameter", limits.rope_diameter_mm, 3);
      if (evidence.shank_diameter_mm === undefined) return band("measure_shank", "Measure the shank", "Outside diameter before pressing.", "shank_diameter", limits.shank_diameter_mm);
      return band("measure_bore", "Measure the bore", "Depth rod from the mouth to the end of the bore.", "bore_depth", limits.bore_depth_mm);
    case "mark":
      if (evidence.depth_mark_mm === undefined) return band("mark_depth", "Mark the rope", `Depth mark ${evidence.bore_depth_mm.toFixed(1)} mm from the rope's end. Then measure where it really is.`, "depth_mark", about(evidence.bore_depth_mm, 0.5));
      return band("mark_boundary", "Mark the shank", `Boundary mark ${evidence.bore_depth_mm.toFixed(1)} mm from the mouth: the bore ends there. Then measure where it really is.`, "boundary_mark", about(evidence.bore_depth_mm, 0.5));
    case "insert":
      return band("check_insertion", "Push the rope home", "Until the depth mark meets the mouth. Then measure mark to mouth (positive: the mark stands outside).", "insertion", about(0, 0.8));
    case "position":
      if (press.phase === "faulted") return want("clear_fault", "Clear the press's fault", `The press stands faulted: ${press.fault}. Find the cause first.`);
      if (evidence.edge_mm === undefined) return band("set_position", `Position bite ${fitting.bite + 1} of ${bites_in_pass}, pass ${fitting.pass}`, `Die edge ${planned_edge(fitting).toFixed(2)} mm from the boundary mark, toward the mouth. Then measure it.`, "position", about(planned_edge(fitting), 1));
      return want("ask_permit", `Ask for bite ${fitting.bite + 1} of ${bites_in_pass}, pass ${fitting.pass}`, `Position ${evidence.edge_mm.toFixed(2)} mm is proven. Hands clear of the dies.`);
    case "permit_recorded": return want("wait_for_record", "Wait", "The permit is being written to the record.");
    case "permit_given": return want("press_both_hands", "Both hands on the press", "The press may close once. Hold both hands on until the dies open again.");
    case "biting": return want("wait_for_dies", "Keep both hands on", "Until the dies are open.");
    case "turn": return want("quarter_turn", "Turn the shank a quarter turn", "Turn it in the dies and read the protractor, zeroed on the flats just pressed.", "turn", "deg", 85, 95);
    case "gauge": return gauge_next(evidence, want, band, about);
    case "accepted": return want("release", "Accepted: release it", "The serial is bound to this fitting when it is released.");
    case "hold": return want("wait_for_reviewer", "On hold", "A reviewer must dispose of this fitting. Set it apart.");
    case "aside": return want("resume", "Put aside", "Resume it when you come back to it.");
    case "scrapped": return want("done", "Scrapped", "Mark it and put it in the scrap.");
    default: return want("done", "Released", "This fitting is finished.");
  }
}

function gauge_next(evidence, want, band, about) {
  if (evidence.go === "not_tried") return want("gauge_go", "Go gauge", "Does the go gap demo-go-8.05 pass over the whole pressed length?", "go_gauge");
  if (evidence.no_go === "not_tried") return want("gauge_no_go", "No-go gauge", "Does the no-go gap demo-no-go-7.90 pass anywhere?", "no_go_gauge");
  if (evidence.across_flats_least_mm === undefined) return band("gauge_across_flats", "Measure across flats", "3 places along the shank, all three pairs of flats at each.", "across_flats", limits.across_flats_mm, 9);
  if (evidence.growth === undefined) return band("gauge_growth", "Measure the growth", `Boundary mark to mouth; it was ${evidence.boundary_mark_mm.toFixed(2)} mm.`, "growth", { least: evidence.boundary_mark_mm + 46 * 0.08, most: evidence.boundary_mark_mm + 46 * 0.16 });
  if (evidence.slip_mm === undefined) return band("gauge_slip", "Find the depth mark", "Depth mark to mouth. The mouth has grown over it: about −5.00 mm is expected (negative: inside).", "slip", about(-5, 0.5));
  if (evidence.straightness_mm === undefined) return band("gauge_straightness", "Check straightness", "Largest gap under the straight edge along the shank.", "straightness", { least: 0, most: 0.3 });
  if (evidence.surface === "not_looked_at") return want("look_at_surface", "Look at the surface", "Cracks, laps, broken wires at the mouth?", "surface");
  return want("judge", "Ask for the verdict", "All readings are there.");
}

const out_code = {
  rope_diameter: "rope_diameter_out", shank_diameter: "shank_diameter_out", bore_depth: "bore_depth_out", depth_mark: "depth_mark_off",
  boundary_mark: "boundary_mark_off", insertion: "rope_not_home", position: "die_off_position", turn: "turn_out",
};

/** Takes one evidence body whose quantities are already numbers; gives the findings, empty when it was taken. */
export function take_evidence(fitting, next, kind, values, result) {
  const { evidence } = fitting;
  if (kind !== next.input) return [finding("not_this_step", 0, 0, 0, `This is not the step for ${kind}.`, `${next.title}.`)];
  if (kind === "go_gauge") evidence.go = result;
  else if (kind === "no_go_gauge") evidence.no_go = result;
  else if (kind === "surface") evidence.surface = result;
  else {
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    if (out_code[kind] !== undefined && (mean < next.least || mean > next.most)) {
      return [finding(out_code[kind], mean, next.least, next.most, `${kind.replace(/_/g, " ")} is ${mean.toFixed(2)} ${next.unit}, accepted ${next.least.toFixed(2)} to ${next.most.toFixed(2)} ${next.unit}.`, kind === "insertion" ? "Push the rope in until the mark meets the mouth, then measure again." : "Check the part and the reading, then measure again.")];
    }
    keep(evidence, kind, values, mean);
  }
  advance(fitting, kind);
  return [];
}

function keep(evidence, kind, values, mean) {
  if (kind === "across_flats") {
    evidence.across_flats_least_mm = Math.min(...values);
    evidence.across_flats_most_mm = Math.max(...values);
  } else if (kind === "growth") evidence.growth = (mean - evidence.boundary_mark_mm) / drawing.swage_length_mm;
  else if (kind === "slip") evidence.slip_mm = mean + 5;
  else if (kind === "turn") evidence.angle_deg = mean;
  else if (kind === "position") evidence.edge_mm = mean;
  else evidence[`${kind}_mm`] = mean;
}

function advance(fitting, kind) {
  const after = { bore_depth: "mark", boundary_mark: "insert", insertion: "position", turn: "position" };
  if (after[kind] !== undefined) fitting.stage = after[kind];
  if (kind === "insertion") fitting.pass = 1;
  if (kind === "turn") {
    fitting.pass += 1;
    fitting.bite = 0;
  }
}

/** The dies are open again after a good bite. */
export function bite_done(fitting) {
  delete fitting.evidence.edge_mm;
  fitting.bites_done += 1;
  fitting.bite += 1;
  if (fitting.bite < bites_in_pass) fitting.stage = "position";
  else fitting.stage = fitting.pass < passes ? "turn" : "gauge";
}

export function finding(code, found, least, most, what, what_to_do) {
  return { code, what, what_to_do, found, least, most };
}

/** Samples [time_ms, force_kn, gap_mm] of one bite: closing, holding, opening. */
export function bite_rows(pass) {
  const envelope = envelope_of(pass);
  const widest = envelope[0].gap_mm;
  const force_at = (gap) => {
    if (gap >= widest) return 0;
    const at = Math.max(0, envelope.findIndex((point, index) => index + 1 < envelope.length && gap <= point.gap_mm && gap >= envelope[index + 1].gap_mm));
    const a = envelope[at], b = envelope[at + 1];
    const share = Math.min(1, Math.max(0, (a.gap_mm - gap) / (a.gap_mm - b.gap_mm)));
    const middle = (point) => (point.least_kn + point.most_kn) / 2;
    return middle(a) + share * (middle(b) - middle(a));
  };
  const rows = [];
  for (let at = 0; at < 400; at += 1) {
    const gap = 12 * (1 - at / 400) ** 3 + 0.03;
    rows.push([2 * at, Math.round(force_at(gap) * 10) / 10, Math.round(gap * 1000) / 1000]);
  }
  for (let at = 400; at < 550; at += 1) rows.push([2 * at, 410, 0.03]);
  for (let at = 550; at < 600; at += 1) rows.push([2 * at, Math.max(0, 410 - 41 * (at - 550)), 0.03 + (at - 550) * 0.2]);
  return rows;
}
