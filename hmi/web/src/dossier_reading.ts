// From the dossier's JSON ("shankwright dossier 1") to what the page shows. Nothing is assumed that is not checked: an
// entry of an unknown shape still appears with its names and values.
import type { EnvelopePoint, Finding, SampleRow } from "./api";

export interface Fact { name: string; value: string }
export interface DossierBite {
  pass: number;
  bite: number;
  rows: SampleRow[];
  envelope: EnvelopePoint[];
  whole_die: boolean;      ///< the recipe's envelope for a whole die: the record does not say what this bite was judged by
  target_kn: number;
  facts: Fact[];
}
export interface DossierEntry {
  sequence: number;
  at_utc: string;
  kind: string;
  event: string;
  actor: string;
  findings: Finding[];
  facts: Fact[];           ///< what was read or decided
  everything: Fact[];      ///< the whole body, with the press and the gauge as they then were
  bite: DossierBite | null;
  corrects: number | null; ///< the entry that this one sets right, with what is right in `text`
  text: string;
  reason: string;
}

type Thing = Record<string, unknown>;
const is_thing = (value: unknown): value is Thing => typeof value === "object" && value !== null && !Array.isArray(value);
const thing_in = (thing: Thing, name: string): Thing => (is_thing(thing[name]) ? (thing[name] as Thing) : {});
const things_in = (thing: Thing, name: string): Thing[] => (Array.isArray(thing[name]) ? (thing[name] as unknown[]).filter(is_thing) : []);
const text = (value: unknown): string => (typeof value === "string" ? value : typeof value === "number" ? String(value) : "");
const number_in = (thing: Thing, name: string): number | null => (typeof thing[name] === "number" ? (thing[name] as number) : null);

export function read_dossier(dossier: unknown): DossierEntry[] {
  if (!is_thing(dossier)) return [];
  const bites = new Map(things_in(dossier, "bites").map((bite) => [number_in(bite, "entry"), bite]));
  return things_in(dossier, "entries").map((entry, index) => {
    const sequence = number_in(entry, "sequence") ?? index + 1;
    const bite = bites.get(sequence);
    const corrects = number_in(entry, "corrects");
    const said: Fact[] = (corrects === null ? ["gauge", "reason", "note"] : []).flatMap((name) => (text(entry[name]) === "" ? [] : [{ name, value: text(entry[name]) }]));
    return {
      sequence,
      at_utc: text(entry["at_utc"]),
      kind: text(entry["kind"]),
      event: text(entry["event"]),
      actor: text(entry["actor"]),
      findings: read_findings(entry["findings"]),
      facts: [...facts_of(readings_of(entry), ""), ...said].slice(0, facts_max),
      everything: facts_of(thing_in(entry, "body"), "").slice(0, facts_max),
      bite: bite === undefined ? null : read_bite(bite, thing_in(dossier, "recipe")),
      corrects,
      text: text(entry["text"]),
      reason: text(entry["reason"]),
    };
  });
}

const circumstances = new Set(["tool", "press", "token", "trace_present"]);

/** The event's own values: not the circumstances, not the questions of admission that were all answered with yes. A
 *  finished bite is told by its trace. */
function readings_of(entry: Thing): Thing {
  if (entry["event"] === "bite_finished") return {};
  const event = thing_in(thing_in(entry, "body"), "event");
  return Object.fromEntries(Object.entries(event).filter(([name, value]) => !circumstances.has(name) && value !== true));
}

function read_findings(value: unknown): Finding[] {
  if (!Array.isArray(value)) return [];
  return value.filter(is_thing).map((finding) => ({
    code: text(finding["code"]),
    what: text(finding["what"]) || text(finding["code"]),
    what_to_do: text(finding["what_to_do"]),
    found: number_in(finding, "found"),
    least: number_in(finding, "least"),
    most: number_in(finding, "most"),
  }));
}

const bite_facts: readonly [string, string, string][] = [
  ["peak_pressure_bar", "highest pressure", "bar"], ["peak_force_kn", "highest force", "kN"], ["least_gap_mm", "least gap", "mm"],
  ["dwell_ms", "dwell", "ms"], ["duration_ms", "duration", "ms"], ["samples", "samples", ""], ["samples_missing", "samples missing", ""],
];

/** The record keeps pressure; force is pressure on the ram of the recipe's press, as for the live plot. */
function read_bite(bite: Thing, joined: Thing): DossierBite {
  const recipe = thing_in(joined, "recipe");
  const ram_area_mm2 = number_in(thing_in(joined, "press"), "ram_area_mm2");
  const pass = number_in(bite, "pass") ?? 1;
  const judged_by = read_points(bite["accepted_force"]);
  const rows = Array.isArray(bite["rows"]) ? (bite["rows"] as unknown[]) : [];
  return {
    pass,
    bite: number_in(bite, "bite") ?? 0,
    rows: ram_area_mm2 === null ? [] : rows.flatMap((row) => read_row(row, ram_area_mm2)),
    envelope: judged_by ?? read_envelope(recipe["envelope"], pass),
    whole_die: judged_by === null,
    target_kn: number_in(recipe, "target_force_kn") ?? 0,
    facts: bite_facts.flatMap(([key, name, unit]) => {
      const value = number_in(bite, key);
      return value === null ? [] : [{ name, value: `${Math.round(value * 1000) / 1000} ${unit}`.trim() }];
    }),
  };
}

const gap_beyond_range_mm = 65.5345;

function read_row(row: unknown, ram_area_mm2: number): SampleRow[] {
  if (!Array.isArray(row) || typeof row[0] !== "number" || typeof row[1] !== "number") return [];
  const gap_mm = typeof row[2] === "number" && row[2] < gap_beyond_range_mm ? row[2] : null;
  return [[row[0], row[1] * ram_area_mm2 * 1e-4, gap_mm]]; // bar x mm2 = 0.1 N
}

/** The recipe's envelope of a pass; passes added by pressing again take the last one's. */
function read_envelope(value: unknown, pass: number): EnvelopePoint[] {
  const passes = Array.isArray(value) ? (value as unknown[]) : [];
  return read_points(passes[Math.min(Math.max(pass, 1), passes.length) - 1]) ?? [];
}

function read_points(points: unknown): EnvelopePoint[] | null {
  if (!Array.isArray(points)) return null;
  return points.filter(is_thing).flatMap((point) => {
    const gap_mm = number_in(point, "gap_mm");
    const force = thing_in(point, "force_kn");
    const least_kn = number_in(force, "least");
    const most_kn = number_in(force, "most");
    return gap_mm === null || least_kn === null || most_kn === null ? [] : [{ gap_mm, least_kn, most_kn }];
  });
}

const facts_max = 60;

/** Every value below `thing` with its path as name: "tool.known". Findings are shown in words elsewhere. */
function facts_of(thing: Thing, path: string): Fact[] {
  const facts: Fact[] = [];
  for (const [name, value] of Object.entries(thing)) {
    if (name === "findings") continue;
    const place = path === "" ? name : `${path}.${name}`;
    if (is_thing(value)) facts.push(...facts_of(value, place));
    else if (Array.isArray(value)) facts.push({ name: place, value: value.map(list_text).join(", ") });
    else facts.push({ name: place, value: value === null ? "none" : String(value) });
  }
  return facts;
}

function list_text(value: unknown): string {
  return Array.isArray(value) ? `(${value.map(list_text).join(", ")})` : is_thing(value) ? JSON.stringify(value) : String(value);
}
