// What the station's workshop routes take and give (hmi/openapi.yaml, tag "workshop").
import { ask, type Problem } from "./api";

export type ForceClass = "0.5" | "1" | "2" | "3" | "none";
export interface KeptReading {
  indicated_kn: number;
  cell_kn: number | null;
  pressure_bar: number | null;    ///< as the station read the press itself; null where the force was typed
  error_percent: number | null;
  at_utc: string;
  by: string;
}
export interface ForceRun { cell_angle_deg: number; ram_position_mm: number | null; readings: KeptReading[]; zero: KeptReading | null }
export interface ForceStep { indicated_kn: number; q_percent: (number | null)[]; q_mean_percent: number | null; b_percent: number | null; a_percent: number | null; class: ForceClass }
export interface ForceResult { class: ForceClass; f0_percent: number; ram_moved_between_runs: boolean; steps: ForceStep[]; shortfalls: { code: string; what: string }[] }
export interface ForceCalibration {
  press: string;
  cell: string;
  range_kn: number;
  resolution_kn: number;
  class_needed: ForceClass;
  steps: number;
  begun_utc: string;
  due: string | null;
  runs: ForceRun[];
  discarded: { run: number; step: number; reading: KeptReading }[];
  result: ForceResult;
  meets: boolean;
  at_utc?: string;
  by?: string;
}
export interface ForceCell { id: string; resolution_kn: number; expanded_uncertainty_kn: number; calibration_due: string | null; in_date: boolean }
export interface Asked { what: "run" | "reading" | "zero" | "finish"; run: number; step: number; target_kn: number }
export interface Calibrating {
  press: string;
  capacity_kn: number | null;
  cells: ForceCell[];
  due: string | null;
  due_from: "record" | "shop_register";
  due_latest: string;
  target_tolerance_share: number;
  running: ForceCalibration | null;
  targets_kn: number[];
  asked: Asked | null;
  earlier: ForceCalibration[];
}

export interface HealthEvent { at_utc: string; event: "link_lost" | "link_connected" | "clear_fault" | "zero_pressure" | "open_dies"; by: string; detail: string; fault: string; fault_code: number }
export interface Hold { serial: string; at_utc: string; bar_per_min: number; bar_per_min_error: number; mean_bar: number; held_ms: number }
export interface PressHealth { events: HealthEvent[]; holds: Hold[]; link_losses: number }

export type DueKind = "press_calibration" | "gauge_calibration" | "die_inspection" | "die_life" | "qualification";
export type Urgency = "overdue" | "soon" | "later";
export interface DueItem {
  kind: DueKind;
  id: string;
  about: string;
  due: string | null;
  days_left: number | null;
  strokes_left: number | null;
  life_strokes: number | null;
  urgency: Urgency;
}

export interface Trial {
  state: "none" | "running" | "done" | "cancelled" | "failed";
  number: number;
  recipe: string;
  by: string;
  fittings: number;
  seed: number;
  begun_utc: string | null;
  section_runs_done: number;
  section_runs: number;
  pressing: number;
  report_number: number;
  has_report: boolean;
  problem: Problem | null;
}
interface Limits { least: number; most: number }
export interface ForceRow {
  target_kn: number;
  fittings: number;
  closed: number;
  closed_share_limits: Limits;
  rejected: number;
  rejected_share_limits: Limits;
  causes: Record<string, number>;
}
export interface TrialReport {
  recipe: string;
  revision: number;
  seed: number;
  fittings: number;
  forces: ForceRow[];
  window: { empty: boolean; least_kn: number; most_kn: number; most_is_from: string; recommended_kn: number; capacity_margin_held: boolean };
  recommended: ForceRow | null;
  present: ForceRow | null;
  across_flats_histogram: { first_edge_mm: number; width_mm: number; counts: number[] };
  across_flats_limits_mm: Limits;
  force_by_gap: { gap_mm: number[]; force_5_percent_kn: number[]; force_50_percent_kn: number[]; force_95_percent_kn: number[]; pass: number }[];
  will_do: boolean;
  assumptions: string;
  caution: string;
}

export interface Draft {
  id: string;
  recipe: string;
  revision: number;
  state: "waiting" | "released" | "dropped";
  made_by: string;
  made_utc: string | null;
  trial: { seed: number; fittings: number; recommended_kn: number; rejected_share: number };
  ended_by: string;
  ended_utc: string | null;
  reason: string;
  in_force: boolean;
}
export interface DraftLook extends Draft {
  text: string;
  against_revision: number | null;
  changes: { what: string; was: string; becomes: string }[];
  faults: Problem[];
  warnings: Problem[];
}

const of_draft = (id: string) => `/workshop/drafts/${encodeURIComponent(id)}`;

export const workshop_api = {
  calibration: () => ask<Calibrating>("GET", "/workshop/calibration"),
  begin: (body: { cell: string; range: string; resolution: string; class_needed: string; steps: number; preloaded: boolean }) =>
    ask<Calibrating>("POST", "/workshop/calibration", body),
  begin_run: (body: { cell_angle: string; ram_position?: string }) => ask<Calibrating>("POST", "/workshop/calibration/runs", body),
  reading: (body: { run: number; step: number; cell?: string; indicated?: string }) => ask<Calibrating>("POST", "/workshop/calibration/readings", body),
  finish: (due: string | null, pin: string) => ask<Calibrating>("POST", "/workshop/calibration/finish", { due, pin }),
  leave: (reason: string) => ask<Calibrating>("POST", "/workshop/calibration/leave", { reason }),
  health: () => ask<PressHealth>("GET", "/workshop/health"),
  due: () => ask<{ items: DueItem[]; soon_days: number }>("GET", "/workshop/due"),
  trial: () => ask<Trial>("GET", "/workshop/trial"),
  start_trial: (body: { recipe: string; fittings: number; seed: number }) => ask<Trial>("POST", "/workshop/trial", body),
  cancel_trial: () => ask<Trial>("DELETE", "/workshop/trial"),
  report: () => ask<TrialReport>("GET", "/workshop/trial/report"),
  drafts: () => ask<{ drafts: Draft[] }>("GET", "/workshop/drafts"),
  draft: (id: string) => ask<{ draft: DraftLook }>("GET", of_draft(id)),
  make_draft: (trial: number) => ask<{ draft: DraftLook }>("POST", "/workshop/drafts", { trial }),
  release: (id: string, reason: string, pin: string) => ask<{ draft: DraftLook }>("POST", `${of_draft(id)}/release`, { reason, pin }),
  drop: (id: string, reason: string) => ask<{ draft: DraftLook }>("POST", `${of_draft(id)}/drop`, { reason }),
};
