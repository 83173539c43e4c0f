// A job while it is typed: every field as text with its unit beside it, and the body that is sent made from it. Nothing is
// judged here: what is missing or wrong is told by the station at its place.
import type { JobBody, JobEnd, JobLine } from "./api";

export interface Amount { value: string; unit: string }
export interface DraftEnd { made: string; recipe: string; what: string; deduction: Amount; insertion: Amount; uncertainty: Amount; source: string; rest: JobEnd | null }
export interface DraftLine {
  mark: string;
  quantity: string;
  rope: string;
  pin_to_pin: Amount;
  tension: Amount;
  prestretched: boolean | null;   ///< null: nobody has said
  length_tolerance: Amount;
  ends: [DraftEnd, DraftEnd];
  rest: JobLine | null;           ///< what an earlier job said beside the fields of this form
}
export interface Draft {
  id: string;
  title: string;
  source: string;
  press: string;
  loss: Amount;
  tolerance: Amount;
  spare_rope: string;
  spare_terminals: string;
  samples: string;
  sample_length: Amount;
  lines: DraftLine[];
}

export const length_units = ["mm", "m", "in"] as const;
export const force_units = ["kN", "N", "lbf", "kgf"] as const;

const nothing = (unit: string): Amount => ({ value: "", unit });

export function empty_end(unit: string): DraftEnd {
  return { made: "swaged", recipe: "", what: "", deduction: nothing(unit), insertion: nothing(unit), uncertainty: nothing(unit), source: "", rest: null };
}

export function empty_line(unit: string): DraftLine {
  return {
    mark: "", quantity: "", rope: "", pin_to_pin: nothing(unit), tension: nothing("kN"), prestretched: null, length_tolerance: nothing(unit),
    ends: [empty_end(unit), empty_end(unit)], rest: null,
  };
}

export function empty_draft(unit: string): Draft {
  return {
    id: "", title: "", source: "", press: "", loss: nothing(unit), tolerance: nothing(unit), spare_rope: "", spare_terminals: "", samples: "",
    sample_length: nothing(unit), lines: [empty_line(unit)],
  };
}

/** "9.87 m" -> value and unit; a text of another form stays whole and keeps the unit it has. */
export function amount_of(text: string | undefined, unit: string): Amount {
  const match = /^\s*([\d.,+\-/ ]*\d)\s*([a-zA-Z%]+)\s*$/.exec(text ?? "");
  return match?.[1] === undefined || match[2] === undefined ? { value: text ?? "", unit } : { value: match[1], unit: match[2] };
}

/** As it is sent: a unit that was typed counts before the one beside the field. */
export function amount_text({ value, unit }: Amount): string {
  const trimmed = value.trim();
  return trimmed === "" || /[a-zA-Z%]/.test(trimmed) ? trimmed : `${trimmed} ${unit}`;
}

export function draft_of(body: JobBody, unit: string): Draft {
  const end_of = (end: JobEnd | undefined): DraftEnd => end === undefined ? empty_end(unit) : {
    made: end.made, recipe: end.recipe ?? "", what: end.what ?? "", deduction: amount_of(end.deduction, unit), insertion: amount_of(end.insertion, unit),
    uncertainty: amount_of(end.uncertainty, unit), source: end.source ?? "", rest: end,
  };
  return {
    id: body.id, title: body.title, source: body.source, press: body.press ?? "", loss: amount_of(body.cutting.loss, unit), tolerance: amount_of(body.cutting.tolerance, unit),
    spare_rope: (body.spares?.rope ?? "").replace("%", "").trim(), spare_terminals: String(body.spares?.terminals ?? ""),
    samples: String(body.destructive_samples?.per_recipe ?? ""), sample_length: amount_of(body.destructive_samples?.free_length, unit),
    lines: body.assemblies.map((line) => ({
      mark: line.mark, quantity: String(line.quantity), rope: line.rope, pin_to_pin: amount_of(line.pin_to_pin, unit), tension: amount_of(line.tension, "kN"),
      prestretched: line.prestretched, length_tolerance: amount_of(line.length_tolerance, unit), ends: [end_of(line.ends[0]), end_of(line.ends[1])], rest: line,
    })),
  };
}

const swaged_rest = ["terminal", "die_pair", "pin_to_bore_end", "growth_share"];

function end_body(end: DraftEnd): JobEnd {
  if (end.made !== "swaged")
    return { made: end.made, what: end.what.trim(), deduction: amount_text(end.deduction), insertion: amount_text(end.insertion), uncertainty: amount_text(end.uncertainty), source: end.source.trim() };
  // What a job said beside these fields goes with its recipe: of another recipe nobody has said it.
  const kept = end.rest !== null && end.rest.recipe === end.recipe ? Object.entries(end.rest).filter(([name]) => swaged_rest.includes(name)) : [];
  return { made: "swaged", recipe: end.recipe, ...Object.fromEntries(kept) };
}

export function body_of(draft: Draft): JobBody {
  const spares = draft.spare_rope.trim() !== "" || draft.spare_terminals.trim() !== "";
  const samples = draft.samples.trim() !== "" || draft.sample_length.value.trim() !== "";
  return {
    id: draft.id.trim(), title: draft.title.trim(), source: draft.source.trim(), ...(draft.press === "" ? {} : { press: draft.press }),
    cutting: { loss: amount_text(draft.loss), tolerance: amount_text(draft.tolerance) },
    ...(spares ? { spares: { rope: amount_text({ value: draft.spare_rope === "" ? "0" : draft.spare_rope, unit: "%" }), terminals: draft.spare_terminals.trim() === "" ? 0 : draft.spare_terminals.trim() } } : {}),
    ...(samples ? { destructive_samples: { per_recipe: draft.samples.trim(), free_length: amount_text(draft.sample_length) } } : {}),
    assemblies: draft.lines.map((line) => ({
      mark: line.mark.trim(), quantity: line.quantity.trim(), rope: line.rope, pin_to_pin: amount_text(line.pin_to_pin), tension: amount_text(line.tension),
      ...(line.prestretched === null ? {} : { prestretched: line.prestretched }),
      ...(line.rest?.["constructional_stretch"] !== undefined && line.prestretched === false ? { constructional_stretch: line.rest["constructional_stretch"] } : {}),
      ...(line.length_tolerance.value.trim() === "" ? {} : { length_tolerance: amount_text(line.length_tolerance) }),
      ends: line.ends.map(end_body),
    })) as JobLine[],
  };
}
