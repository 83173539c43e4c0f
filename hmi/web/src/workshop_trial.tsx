// A trial: which force a recipe needs, found in simulation on the station while the press goes on. Progress and plots as
// they come; a draft of what it recommends.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Outcome } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { address_of, go_to } from "./routes";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { fixed } from "./units";
import { workshop_api, type DraftLook, type Trial, type TrialReport } from "./workshop_api";
import { kn, minute, share } from "./workshop_words";
import { XyPlot } from "./xy_plot";

const poll_ms = 400;

export function Trials() {
  const desk = useDesk();
  const [trial, setTrial] = useState<Trial | null>(null);
  const [report, setReport] = useState<TrialReport | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const had = useRef(-1);
  const took = (outcome: Outcome<Trial>) => {
    desk.took_answer(outcome);
    if (outcome.kind === "taken") setTrial(outcome.body);
    setTrouble(outcome.kind === "taken" ? null : outcome);
  };
  const running = trial?.state === "running";
  useEffect(() => {
    void workshop_api.trial().then(took);
    const again = setInterval(() => void workshop_api.trial().then((outcome) => { if (outcome.kind === "taken") setTrial(outcome.body); }), running ? poll_ms : 3000);
    return () => clearInterval(again);
  }, [running]);
  useEffect(() => {
    if (trial === null) return;
    if (!trial.has_report) { setReport(null); had.current = -1; return; }
    if (trial.report_number === had.current) return;
    had.current = trial.report_number;
    void workshop_api.report().then((outcome) => { if (outcome.kind === "taken") setReport(outcome.body); });
  }, [trial?.report_number, trial?.has_report]);
  const may = desk.person?.roles.includes("technician") ?? false;
  return (
    <div class="workshop-columns">
      <section class="card">
        <h2>{t("technician.trial_title")}</h2>
        <p class="hint">{t("technician.trial_text")}</p>
        <TroubleBox trouble={trouble} />
        {!may && <p class="hint">{t("technician.needs_technician")}</p>}
        {may && !running && <Start onStarted={took} />}
        {trial !== null && trial.state !== "none" && <Progress trial={trial} may={may} onCancelled={took} />}
        {trial !== null && report !== null && <Recommended trial={trial} report={report} may={may} />}
      </section>
      <section class="card">
        {report === null ? <p class="hint">{running ? t("technician.plots_soon") : t("technician.plots_none")}</p> : <Plots report={report} />}
      </section>
    </div>
  );
}

function Start({ onStarted }: { onStarted: (outcome: Outcome<Trial>) => void }) {
  const desk = useDesk();
  const [recipe, setRecipe] = useState("");
  const [fittings, setFittings] = useState(20000);
  const [busy, setBusy] = useState(false);
  return (
    <form class="calibration-form" onSubmit={(event) => {
      event.preventDefault();
      setBusy(true);
      void workshop_api.start_trial({ recipe, fittings, seed: 1 }).then((outcome) => { setBusy(false); onStarted(outcome); });
    }}>
      <label class="field">
        <span>{t("technician.recipe")}</span>
        <select name="recipe" value={recipe} onChange={(event) => setRecipe(event.currentTarget.value)}>
          <option value="">{t("technician.recipe_choose")}</option>
          {desk.library?.recipes.map((one) => <option key={one.id} value={one.id}>{t("technician.recipe_line", { id: one.id, revision: one.revision })}</option>)}
        </select>
      </label>
      <fieldset>
        <legend>{t("technician.fittings")}</legend>
        <div class="choice-row">
          {[2000, 20000, 50000].map((count) => <button type="button" class="choice" key={count} aria-pressed={fittings === count} onClick={() => setFittings(count)}><span>{fixed(count, 0)}</span></button>)}
        </div>
      </fieldset>
      <button type="submit" class="button primary record" disabled={busy || recipe === ""}>{t("technician.trial_start")}</button>
    </form>
  );
}

function state_words(trial: Trial): string {
  switch (trial.state) {
    case "running": return trial.pressing > 0 ? t("technician.trial_pressing", { count: trial.pressing }) : t("technician.trial_section", { done: trial.section_runs_done, all: trial.section_runs || "…" });
    case "done": return t("technician.trial_done");
    case "cancelled": return t("technician.trial_cancelled");
    case "failed": return t("technician.trial_failed", { why: trial.problem === null ? "" : `${trial.problem.found}; ${trial.problem.expected}` });
    case "none": return "";
  }
}

function Progress({ trial, may, onCancelled }: { trial: Trial; may: boolean; onCancelled: (outcome: Outcome<Trial>) => void }) {
  // The section runs take nearly all of the time; pressing is the last twentieth.
  const part = trial.state === "done" ? 1 : trial.section_runs === 0 ? 0 : (0.95 * trial.section_runs_done) / trial.section_runs + (trial.has_report ? 0.03 : 0);
  return (
    <div class="trial-progress" data-trial={trial.state}>
      <h3>{trial.recipe}</h3>
      <p class="hint">{t("technician.trial_line", { by: trial.by, begun: minute(trial.begun_utc), fittings: trial.fittings, seed: trial.seed })}</p>
      <progress max={1} value={part} aria-label={t("technician.progress")} />
      <p role="status" class="with-sign"><Sign meaning={trial.state === "failed" ? "abnormal" : trial.state === "done" ? "normal" : "neutral"} size={22} />{state_words(trial)}</p>
      {may && trial.state === "running" && <button type="button" class="button" onClick={() => void workshop_api.cancel_trial().then(onCancelled)}>{t("technician.trial_cancel")}</button>}
    </div>
  );
}

function Recommended({ trial, report, may }: { trial: Trial; report: TrialReport; may: boolean }) {
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const desk = useDesk();
  const make = async () => {
    setBusy(true);
    const outcome: Outcome<{ draft: DraftLook }> = await workshop_api.make_draft(trial.number);
    setBusy(false);
    desk.took_answer(outcome);
    if (outcome.kind === "taken") go_to({ view: "workshop", path: ["drafts", outcome.body.draft.id] });
    else setTrouble(outcome);
  };
  const { window: found, recommended, present } = report;
  const row = (name: string, at: TrialReport["recommended"]) => at !== null && (
    <tr><th scope="row">{name}</th><td>{kn(at.target_kn, 0)}</td><td>{share(at.closed / at.fittings)}</td><td>{share(at.rejected / at.fittings, 2)}</td></tr>
  );
  return (
    <div class="recommended">
      <p class="with-sign big-line" role="status" data-recommended={found.empty ? "none" : fixed(found.recommended_kn, 0)}>
        <Sign meaning={report.will_do ? "normal" : "abnormal"} size={34} />
        <span>{found.empty ? t("technician.no_force") : <><b>{t("technician.recommends", { force: kn(found.recommended_kn, 0) })}</b> {t("technician.window", { least: kn(found.least_kn, 0), most: kn(found.most_kn, 0), from: found.most_is_from })}</>}</span>
      </p>
      {!found.empty && !report.will_do && <p>{t("technician.will_not_do")}</p>}
      <table class="rows">
        <thead><tr><td></td><th scope="col">{t("technician.target")}</th><th scope="col">{t("technician.closed")}</th><th scope="col">{t("technician.rejected")}</th></tr></thead>
        <tbody>{row(t("technician.at_recommended"), recommended)}{row(t("technician.at_present"), present)}</tbody>
      </table>
      <p class="hint">{report.caution}</p>
      <TroubleBox trouble={trouble} />
      {may && trial.state === "done" && !found.empty && (
        <div class="button-row">
          <button type="button" class="button primary" disabled={busy} onClick={() => void make()}>{t("technician.make_draft")}</button>
          <a class="button" href={address_of({ view: "workshop", path: ["drafts"] })}>{t("technician.see_drafts")}</a>
        </div>
      )}
    </div>
  );
}

function Plots({ report }: { report: TrialReport }) {
  const forces = report.forces.map((row) => row.target_kn);
  const histogram = report.across_flats_histogram;
  const bars = histogram.counts.flatMap((count, at) => {
    const from = histogram.first_edge_mm + at * histogram.width_mm;
    return [[from, count], [from + histogram.width_mm, count]] as [number, number][];
  });
  const recommended = report.window.empty ? [] : [{ at: report.window.recommended_kn, upright: true, text: t("technician.recommended_short") }];
  const limits = report.across_flats_limits_mm;
  return (
    <>
      <h2>{t("technician.plot_rejects")}</h2>
      <XyPlot label={t("technician.plot_rejects")} x_label={t("technician.axis_target")} y_label={t("technician.axis_share")} y_range={[0, 102]} height={230}
        lines={[
          { name: t("technician.rejected"), points: report.forces.map((row) => [row.target_kn, (100 * row.rejected) / row.fittings] as const), marks: "circle" },
          { name: t("technician.closed"), points: report.forces.map((row) => [row.target_kn, (100 * row.closed) / row.fittings] as const), dash: "dashed" },
        ]}
        bands={[{ x: forces, least: report.forces.map((row) => 100 * row.rejected_share_limits.least), most: report.forces.map((row) => 100 * row.rejected_share_limits.most) }]}
        help={recommended} caption={t("technician.plot_rejects_caption", { count: report.fittings })} />
      <h2>{t("technician.plot_size")}</h2>
      <XyPlot label={t("technician.plot_size")} x_label={t("technician.axis_flats")} y_label={t("technician.axis_fittings")} height={190} lines={[{ name: "", points: bars }]}
        help={[{ at: limits.least, upright: true, text: t("technician.no_go") }, { at: limits.most, upright: true, text: t("technician.go") }]} />
      <h2>{t("technician.plot_force")}</h2>
      <XyPlot label={t("technician.plot_force")} x_label={t("technician.axis_gap")} y_label={t("technician.axis_force")} x_reversed height={230}
        lines={report.force_by_gap.map((fan, at) => ({ name: t("technician.pass_median", { pass: fan.pass }), points: fan.gap_mm.map((gap, i) => [gap, fan.force_50_percent_kn[i] ?? 0] as const), dash: at === 0 ? "solid" as const : "dashed" as const }))}
        bands={report.force_by_gap.map((fan) => ({ x: fan.gap_mm, least: fan.force_5_percent_kn, most: fan.force_95_percent_kn }))} caption={t("technician.plot_force_caption")} />
    </>
  );
}
