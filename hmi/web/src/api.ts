// What the station's HTTP interface takes and gives (hmi/openapi.yaml), and the only place that calls it.
// Outputs carry the unit in the key (gap_mm); inputs are texts with their unit ("4.77 mm").

export interface Band { least: number; most: number }

export interface Finding {
  code: string;
  what: string;
  what_to_do: string;
  found: number | null;
  least: number | null;
  most: number | null;
}

/** Why a request was not understood or could not be served; `place` is a JSON pointer or a parameter. */
export interface Problem { place: string; found: string; expected: string }

export type Link = "connected" | "stale" | "lost" | "never_connected";

export interface Press {
  link: Link;
  link_problem: string;
  fresh: boolean;
  age_ms: number;
  phase: string;
  fault_code: number;
  fault: string;
  emergency_circuit_healthy: boolean;
  guard_closed: boolean;
  both_hands_on: boolean;
  pump_running: boolean;
  dies_home: boolean;
  dies_closed: boolean;
  shank_present: boolean;
  mark_seen: boolean;
  remote_selected: boolean;
  mark_sensor_fitted: boolean;
  angle_encoder_fitted: boolean;
  position_sensor_fitted: boolean;
  die_tag: number;
  angle_deg: number;
  oil_temperature_c: number;
  pressure_bar: number;
  force_kn: number | null;     ///< null while the press's ram is not known
  gap_mm: number | null;       ///< null beyond the sensor's range
  edge_distance_mm: number;
  bite_number: number;
  stroke_total: number;
  permit_state: string;
  peak_pressure_bar: number;
  dwell_done_ms: number;
  least_gap_mm: number | null;
  scan_number: number;
}

export type Stage =
  | "measure" | "mark" | "insert" | "position" | "permit_recorded" | "permit_given" | "biting" | "turn" | "gauge"
  | "accepted" | "released" | "scrapped" | "hold" | "aside";

/** Only what is known is present. */
export interface Evidence {
  rope_diameter_mm?: number;
  shank_diameter_mm?: number;
  bore_depth_mm?: number;
  depth_mark_mm?: number;
  boundary_mark_mm?: number;
  insertion_mm?: number;
  edge_mm?: number;
  angle_deg?: number;
  across_flats_least_mm?: number;
  across_flats_most_mm?: number;
  go?: string;
  no_go?: string;
  growth?: number;
  straightness_mm?: number;
  slip_mm?: number;
  surface?: string;
}

export interface EnvelopePoint { gap_mm: number; least_kn: number; most_kn: number }

export interface Limits {
  rope_diameter_mm: Band;
  shank_diameter_mm: Band;
  bore_depth_mm: Band;
  mark_tolerance_mm: number;
  insertion_tolerance_mm: number;
  across_flats_mm: Band;
  growth: Band;
  straightness_mm_max: number;
  slip_mm_max: number;
  closed_gap_mm: number;
}

export interface Drawing {
  bore_diameter_mm: number;
  swage_length_mm: number;
  die_length_mm: number;
  die_shape: "hexagon" | "round";
  die_across_flats_mm: number;
  rope_nominal_diameter_mm: number;
  construction: string;
}

/** The one thing to do now. Where `input` is not "", evidence of that kind is wanted. */
export interface Next {
  code: string;
  title: string;
  detail: string;
  input: string;
  unit: string;
  readings: number;
  least: number;
  most: number;
}

export interface Fitting {
  serial: string;
  stage: Stage;
  verdict: "" | "accepted" | "scrapped" | "held";
  recipe: string;
  revision: number;
  job: string;
  operator: string;
  rope_lot: string;
  terminal_lot: string;
  started_utc: string;
  evidence: Evidence;
  pass: number;
  passes: number;
  bite: number;
  bites_in_pass: number;
  re_presses: number;
  repeats: number;
  bites_done: number;
  planned_edge_mm: number | null;
  accepted_edge_mm: Band;
  target_force_kn: number;
  envelope: EnvelopePoint[];      ///< of the coming or running bite; empty for one that presses again
  limits: Limits;
  drawing: Drawing;
  next: Next;
  findings: Finding[];
  standing: Finding[];
  proof: Proof;
  disposition?: { two_persons: boolean; proposed: Decision | null; proposed_by: string; returnable: boolean };
}

/** The pull that the recipe asks for, and the newest on record. */
export interface Proof {
  asked: { load_kn: number; hold_s: number; slip_mm_max: number } | null;
  newest: { load_kn: number; held_s: number; slip_mm: number } | null;
  passed: boolean;
  slipped: boolean;
}

export type Decision = "scrap" | "use_as_is" | "return_to_work";
export type Item = "rope_lot" | "terminal_lot" | "die_pair" | "gauge";
export interface QuarantinedItem { item: Item; id: string; reason: string; by: string; at_utc: string | null; in_shop_file: boolean }
export interface QuarantineOutcome { preview: boolean; held: string[]; released: string[]; refusals: Finding[] }

/** Which screen drives the press. `here`: this one. */
export interface Control { person: string; name: string; since_utc: string; here: boolean }

export interface Station {
  name: string;
  version: string;
  cautions: string[];
  press: Press;
  active: Fitting | null;
  set_aside: string[];
  held: string[];
  notices: string[];
  snapshot_version: number;
  at_utc: string;
  control: Control | null;
}

/** [time_ms, force_kn, gap_mm]; force null while the press's ram is not known, gap null beyond the sensor's range */
export type SampleRow = [number, number | null, number | null];
export interface Samples { bite: number; from: number; rows: SampleRow[] }
export interface StationEvent extends Station { samples?: Samples }

export interface Person { id: string; name: string; roles: string[] }
/** `must_set_pin`: signed in by a one-time code, which is good for setting a PIN and nothing else. */
export interface Session { token: string; person: Person; must_set_pin: boolean }
/** A person as an administrator sees them. */
export interface Account extends Person {
  qualified: Record<string, string>;  ///< recipe family -> last day
  has_pin: boolean;
  code_waits: boolean;
  code_until_utc: string | null;
  tries_failed: number;
  locked_for_s: number;
}

export interface RecipeLine {
  id: string;
  revision: number;
  status: string;
  family: string;
  rope: string;
  terminal: string;
  die_pair: string;
  press: string;
}
export interface Lot { id: string; of: string; quarantined: boolean }
export interface Gauge {
  id: string;
  kind: string;
  size_mm: number | null;
  calibration_due: string | null;   ///< null: the shop's register does not know it
  in_date: boolean;
}
export interface RopeLine { id: string; construction: string; nominal_diameter_mm: number; minimum_breaking_force_kn: number }
export interface TerminalLine { id: string; end: string | null; pin_distance_known: boolean }
export interface Library {
  recipes: RecipeLine[];
  ropes: RopeLine[];
  terminals: TerminalLine[];
  die_pairs: string[];
  presses: string[];
  rope_lots: Lot[];
  terminal_lots: Lot[];
  gauges: Gauge[];
  people: Person[];
  faults: Problem[];
}

export interface FittingRow {
  serial: string;
  recipe: string;
  revision: number;
  job: string;
  operator: string;
  rope_lot: string;
  terminal_lot: string;
  die_pair: string;
  stage: string;
  verdict: string;
  started_utc: string;
  changed_utc: string;
}
/** How the text of the search box was read, and serials near to one that was not found. */
export interface ReadPart { as: string; value: string; words: string }
export interface Reading { words: string; parts: ReadPart[]; serial_mistyped: boolean }
export interface FittingList { fittings: FittingRow[]; next_after: string | null; reading?: Reading; near?: string[] }

export interface IntegrityFinding { entry: number | null; what: string }
export interface CoveringSeal { entry: number; at_utc: string; why: string; head: string; public_key: string }
/** The newest verification of the whole record. */
export interface Verification {
  state: "never" | "running" | "done" | "failed";
  sound: boolean | null;
  asked_by: string;
  started_utc: string | null;
  ended_utc: string | null;
  running_s: number | null;
  part: "pages" | "hashes" | "index_made" | "index_looked" | null;
  part_done: number | null;
  part_of: number | null;
  bytes: number;
  entries: number;
  traces: number;
  fittings: number;
  seals: number;
  newest_entry: number;
  newest_seal: CoveringSeal | null;
  findings: IntegrityFinding[];
  notes: string[];
  fault: string;
}
/** Whether what is on record about one serial is as it was written. */
export interface DossierProof {
  chain_holds: boolean;
  own_entries_hold: boolean;
  sealed: boolean;
  too_long: boolean;
  first_entry: number;
  last_entry: number;
  entries: number;
  seal: CoveringSeal | null;
  findings: IntegrityFinding[];
  notes: string[];
}

/** A planner's job as it is sent: the keys of a job file, quantities as texts with their unit. */
export interface JobEnd {
  made: string;
  recipe?: string;
  what?: string;
  deduction?: string;
  insertion?: string;
  uncertainty?: string;
  source?: string;
  [other: string]: unknown;
}
export interface JobLine {
  mark: string;
  quantity: number | string;
  rope: string;
  pin_to_pin: string;
  tension: string;
  prestretched: boolean;
  length_tolerance?: string;
  ends: JobEnd[];
  [other: string]: unknown;
}
export interface JobBody {
  id: string;
  title: string;
  source: string;
  press?: string;
  cutting: { loss: string; tolerance: string };
  spares?: { rope: string; terminals: number | string };
  destructive_samples?: { per_recipe: number | string; free_length: string };
  assemblies: JobLine[];
}
export interface JobFinding { code: string; place: string; found: string; expected: string }
export interface AccountLine { line: string; end: string | null; value_mm: number; uncertainty_mm: number; total_mm: number; formula: string; why: string; source: string; given_by_job: boolean }
export interface PlannedEnd { made: string; recipe: string | null; what: string | null; rope_inside_mm: number; growth_mm: number }
export interface PlannedLine {
  mark: string;
  pieces: number;
  rope: string;
  ends: PlannedEnd[];
  pin_to_pin_mm: number;
  tension_kn: number;
  tension_share: number;
  cut_length_mm: number;
  uncertainty_mm: number;
  account: AccountLine[];
}
export interface Bill {
  ropes: { rope: string; total_mm: number; mass_kg: number | null; pieces: { for: string; length_mm: number; count: number }[] }[];
  terminals: { terminal: string; end: string | null; assemblies: number; samples: number; spare: number; total: number }[];
  other_ends: { what: string; made: string; count: number }[];
  recipes: {
    recipe: string; revision: number; terminal: string; die_pair: string; die_tag: number; press: string; target_force_kn: number;
    go_gauge: string; no_go_gauge: string; measuring_gauges: string[]; fittings: number; strokes: number;
  }[];
}
export interface Plan { refusals: JobFinding[]; cautions: JobFinding[]; assemblies: PlannedLine[]; bill: Bill | null; standing_cautions: string[] }
export interface Tally { wanted: number; released: number; accepted: number; under_way: number; held: number; scrapped: number }
export interface LineProgress extends Tally { mark: string | null; recipe: string; job_text: string }
export interface KeptJob {
  id: string;
  title: string;
  entry: number;
  entered_by: string;
  entered_utc: string;
  changed_by: string;
  changed_utc: string;
  withdrawn: boolean;
  reason: string;
}
export interface ListedJob extends KeptJob {
  can_be_read: boolean;
  progress: Tally | null;
  lines: { mark: string; quantity: number; rope: string; recipes: string[]; job_text: string }[];
}
export interface WholeJob {
  job: KeptJob;
  body: JobBody;
  faults: Problem[];
  plan: Plan | null;
  cuts_on_record: { mark: string; cut_length_mm: number }[];
  progress: { whole: Tally; lines: LineProgress[] } | null;
}
export interface CheckedJob { faults: Problem[]; plan: Plan | null; good: boolean }

export type EvidenceBody = {
  kind: string;
  gauge?: string;
  values?: string[];
  stations?: string[][];
  result?: string;
  load?: string;
  held?: string;
  slip?: string;
};

/** What is left after a PIN or code that was not right: tries before a wait, or the wait. */
export interface Tries { tries_left: number; wait_s: number }

/** What came of a request that changes something. */
export type Outcome<T> =
  | { kind: "taken"; body: T }
  | { kind: "refused"; findings: Finding[] }
  | { kind: "signed_out"; tries?: Tries }
  | { kind: "problem"; problem: Problem; status: number; tries?: Tries; faults?: Problem[] }
  | { kind: "unreachable" };

const prefix = "/api/v1";

/** Asks once and gives up after ten seconds: a person at the press must not wait on a silent line. */
export async function ask<T>(method: string, path: string, body?: unknown): Promise<Outcome<T>> {
  const giveUp = new AbortController();
  const timer = setTimeout(() => giveUp.abort(), 10_000);
  try {
    const request: RequestInit = { method, credentials: "same-origin", signal: giveUp.signal };
    if (method !== "GET") {
      request.headers = { "Content-Type": "application/json" };
      if (method === "POST") request.body = JSON.stringify(body ?? {});
    }
    const answer = await fetch(prefix + path, request);
    const text = await answer.text();
    return sort_answer<T>(answer.status, text);
  } catch {
    return { kind: "unreachable" };
  } finally {
    clearTimeout(timer);
  }
}

function sort_answer<T>(status: number, text: string): Outcome<T> {
  let parsed: unknown;
  try {
    parsed = text === "" ? {} : JSON.parse(text);
  } catch {
    return { kind: "problem", status, problem: { place: "answer", found: "text that is not JSON", expected: "JSON" } };
  }
  if (status >= 200 && status < 300) return { kind: "taken", body: parsed as T };
  const failure = (parsed ?? {}) as { problem?: Problem; refusals?: Finding[]; faults?: Problem[] } & Partial<Tries>;
  // A job that cannot be kept names places in itself, not findings of the procedure.
  if (status === 409 && failure.problem === undefined) return { kind: "refused", findings: failure.refusals ?? [] };
  const tries = failure.tries_left === undefined ? {} : { tries: { tries_left: failure.tries_left, wait_s: failure.wait_s ?? 0 } };
  if (status === 401) return { kind: "signed_out", ...tries };
  const problem = failure.problem ?? { place: "", found: `answer ${status}`, expected: "an answer this page knows" };
  const faults = failure.faults ?? (failure.refusals as unknown as Problem[] | undefined);
  return { kind: "problem", status, problem, ...tries, ...(faults === undefined ? {} : { faults }) };
}

export interface ActAnswer { fitting?: Fitting; findings?: Finding[] }
const person_of = (id: string) => `/people/${encodeURIComponent(id)}`;
const job_of = (id: string) => `/jobs/${encodeURIComponent(id)}`;
const of = (serial: string) => `/fittings/${encodeURIComponent(serial)}`;

export const api = {
  who: () => ask<{ person: Person; must_set_pin: boolean }>("GET", "/session"),
  sign_in: (person: string, secret: { pin: string } | { code: string }) => ask<Session>("POST", "/session", { person, ...secret }),
  set_pin: (pin: string, old_pin?: string) => ask<Session>("POST", "/session/pin", old_pin === undefined ? { pin } : { pin, old_pin }),
  people: () => ask<{ people: Account[] }>("GET", "/people"),
  add_person: (body: { id: string; name: string; roles: string[] }) => ask<{ person: Account }>("POST", "/people", body),
  change_roles: (id: string, roles: string[]) => ask<{ person: Account }>("POST", `${person_of(id)}/roles`, { roles }),
  qualify: (id: string, family: string, until: string | null) => ask<{ person: Account }>("POST", `${person_of(id)}/qualification`, { family, until }),
  issue_code: (id: string) => ask<{ person: string; code: string; until_utc: string }>("POST", `${person_of(id)}/code`),
  unlock: (id: string) => ask<{ person: Account }>("POST", `${person_of(id)}/unlock`),
  remove_person: (id: string) => ask<unknown>("POST", `${person_of(id)}/removal`),
  sign_out: () => ask<unknown>("DELETE", "/session"),
  library: () => ask<Library>("GET", "/library"),
  start: (body: { recipe: string; job: string; rope_lot: string; terminal_lot: string }) =>
    ask<{ fitting: Fitting }>("POST", "/fittings", body),
  fitting: (serial: string) => ask<{ fitting: Fitting }>("GET", of(serial)),
  dossier: (serial: string) => ask<unknown>("GET", `${of(serial)}/dossier`),
  find: (query: URLSearchParams) => ask<FittingList>("GET", `/fittings?${query.toString()}`),
  integrity: () => ask<Verification>("GET", "/integrity"),
  verify: () => ask<Verification & { begun: boolean }>("POST", "/integrity"),
  prove: (serial: string) => ask<DossierProof>("GET", `${of(serial)}/integrity`),
  correct: (serial: string, of_entry: number, text: string, reason: string) =>
    ask<ActAnswer>("POST", `${of(serial)}/corrections`, { of: of_entry, text, reason }),
  jobs: () => ask<{ jobs: ListedJob[] }>("GET", "/jobs"),
  job: (id: string) => ask<WholeJob>("GET", job_of(id)),
  check_job: (body: JobBody) => ask<CheckedJob>("POST", "/jobs/check", body),
  enter_job: (body: JobBody) => ask<WholeJob>("POST", "/jobs", body),
  change_job: (id: string, of_entry: number, body: JobBody) => ask<WholeJob>("POST", job_of(id), { of: of_entry, job: body }),
  withdraw_job: (id: string, reason: string) => ask<WholeJob>("POST", `${job_of(id)}/withdrawal`, { reason }),
  evidence: (serial: string, body: EvidenceBody) => ask<ActAnswer>("POST", `${of(serial)}/evidence`, body),
  permit: (serial: string) => ask<ActAnswer>("POST", `${of(serial)}/permit`),
  withdraw: (serial: string) => ask<ActAnswer>("DELETE", `${of(serial)}/permit`),
  act: (serial: string, what: "judge" | "release" | "aside" | "resume" | "hold") =>
    ask<ActAnswer>("POST", `${of(serial)}/${what}`),
  quarantined: () => ask<{ items: QuarantinedItem[] }>("GET", "/quarantine"),
  quarantine: (body: { item: Item; id: string; reason?: string; preview?: boolean }) => ask<QuarantineOutcome>("POST", "/quarantine", body),
  lift_quarantine: (body: { item: Item; id: string; reason: string }) => ask<QuarantineOutcome>("POST", "/quarantine/lift", body),
  end_shift: () => ask<ActAnswer>("POST", "/shift/end"),
  dispose: (serial: string, disposition: Decision, reason: string, pin: string) =>
    ask<ActAnswer>("POST", `${of(serial)}/disposition`, { disposition, reason, pin }),
  take_control: (from: string) => ask<{ control: Control | null }>("POST", "/press/control", from === "" ? {} : { from }),
  give_up_control: () => ask<{ control: Control | null }>("DELETE", "/press/control"),
  press: (order: "open-dies" | "clear-fault" | "zero-pressure") => ask<ActAnswer>("POST", `/press/${order}`),
};

/** Addresses for links: what a browser saves or opens by itself. */
export const address = {
  export_of: (form: "csv" | "json", asked: string) => `${prefix}/fittings.${form}?${new URLSearchParams({ ask: asked }).toString()}`,
  certificate: (serial: string, units: "metric" | "inch") => `${prefix}${of(serial)}/certificate?units=${units}`,
  dossier_pdf: (serial: string, units: "metric" | "inch") => `${prefix}${of(serial)}/dossier.pdf?units=${units}`,
  label: (serial: string) => `${prefix}${of(serial)}/label.svg`,
  cut_sheet: (id: string, unit: "mm" | "in") => `${prefix}${job_of(id)}/sheet?unit=${unit}`,
  job_table: (id: string, table: "cuts" | "account" | "bill", unit: "mm" | "in") => `${prefix}${job_of(id)}/table.csv?table=${table}&unit=${unit}`,
};
