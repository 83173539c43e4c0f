// From the dossier's JSON to what the page shows. Nothing is assumed that is not checked: an entry of an unknown shape
// still appears with its names and values.
import type { EnvelopePoint, Finding, SampleRow } from "./api";

export interface Fact { name: string; value: string }
export interface DossierEntry {
  sequence: number;
  at_utc: string;
  kind: string;
  event: string;
  actor: string;
  findings: Finding[];
  facts: Fact[];
  trace: SampleRow[];
  envelope: EnvelopePoint[];
}

type Thing = Record<string, unknown>;
const is_thing = (value: unknown): value is Thing => typeof value === "object" && value !== null && !Array.isArray(value);
const text = (value: unknown): string => (typeof value === "string" ? value : typeof value === "number" ? String(value) : "");
const number_in = (thing: Thing, name: string): number | null => (typeof thing[name] === "number" ? (thing[name] as number) : null);

export function read_dossier(dossier: unknown): DossierEntry[] {
  const entries = Array.isArray(dossier) ? dossier : is_thing(dossier) && Array.isArray(dossier["entries"]) ? dossier["entries"] : [];
  return entries.filter(is_thing).map(read_entry);
}

function read_entry(entry: Thing, index: number): DossierEntry {
  const body = is_thing(entry["body"]) ? entry["body"] : {};
  const findings = read_findings(entry["findings"] ?? body["findings"]);
  const trace = entry["trace"] ?? body["trace"];
  return {
    sequence: number_in(entry, "sequence") ?? index + 1,
    at_utc: text(entry["at_utc"]),
    kind: text(entry["kind"]),
    event: text(entry["event"]),
    actor: text(entry["actor"]),
    findings,
    facts: facts_of(body, ""),
    trace: read_trace(trace),
    envelope: read_envelope(entry["envelope"] ?? body["envelope"]),
  };
}

function read_findings(value: unknown): Finding[] {
  if (!Array.isArray(value)) return [];
  return value.filter(is_thing).map((finding) => ({
    code: text(finding["code"]),
    what: text(finding["what"]) || text(finding["code"]),
    what_to_do: text(finding["what_to_do"]),
    found: number_in(finding, "found") ?? 0,
    least: number_in(finding, "least") ?? 0,
    most: number_in(finding, "most") ?? 0,
  }));
}

function read_envelope(value: unknown): EnvelopePoint[] {
  if (!Array.isArray(value)) return [];
  return value.filter(is_thing).flatMap((point) => {
    const gap_mm = number_in(point, "gap_mm");
    const least_kn = number_in(point, "least_kn");
    const most_kn = number_in(point, "most_kn");
    return gap_mm === null || least_kn === null || most_kn === null ? [] : [{ gap_mm, least_kn, most_kn }];
  });
}

/** Rows as [time_ms, force_kn, gap_mm], or as objects with those names; anything else is no trace. */
function read_trace(value: unknown): SampleRow[] {
  const rows = is_thing(value) ? value["rows"] ?? value["samples"] : value;
  if (!Array.isArray(rows)) return [];
  return rows.flatMap((row): SampleRow[] => {
    if (Array.isArray(row) && row.length >= 3 && row.every((cell) => typeof cell === "number")) {
      return [[row[0] as number, row[1] as number, row[2] as number]];
    }
    if (!is_thing(row)) return [];
    const time = number_in(row, "time_ms");
    const force = number_in(row, "force_kn");
    const gap = number_in(row, "gap_mm");
    return time === null || force === null || gap === null ? [] : [[time, force, gap]];
  });
}

const not_facts = new Set(["findings", "trace", "envelope"]);
const facts_max = 60;

/** Every value below `thing` with its path as name: "tool.id". */
function facts_of(thing: Thing, path: string): Fact[] {
  const facts: Fact[] = [];
  for (const [name, value] of Object.entries(thing)) {
    if (path === "" && not_facts.has(name)) continue;
    const place = path === "" ? name : `${path}.${name}`;
    if (is_thing(value)) facts.push(...facts_of(value, place));
    else if (Array.isArray(value)) facts.push({ name: place, value: value.map(list_text).join(", ") });
    else facts.push({ name: place, value: value === null ? "none" : String(value) });
  }
  return facts.slice(0, facts_max);
}

function list_text(value: unknown): string {
  return Array.isArray(value) ? `(${value.map(list_text).join(", ")})` : is_thing(value) ? JSON.stringify(value) : String(value);
}
