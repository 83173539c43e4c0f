// One fitting at the press: what it is, where it stands, what to do now, and beside it the drawing and the trace.
import { useEffect, useRef, useState } from "preact/hooks";
import { useActing } from "./acting";
import { api, type Fitting, type Outcome, type Press } from "./api";
import { Confirm } from "./confirm";
import { FittingDrawing } from "./drawing";
import { EvidenceTable } from "./evidence_table";
import { FindingList, TroubleBox, type Trouble } from "./findings";
import { ForcePlot } from "./force_plot";
import { live_samples, type SamplesOwner } from "./live";
import { t } from "./messages";
import { has_verdict, NextAction } from "./next_action";
import type { Draft } from "./readings";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { Steps } from "./steps";

interface Props {
  fitting: Fitting;
  press: Press;
  stale: boolean;
  samples_changed: number;
  samples_of: SamplesOwner | null;
  onStartAnother: () => void;
  driven_by: string;         ///< who drives the press at another screen; "" where this one may act
}

const pressing_stages = ["position", "permit_recorded", "permit_given", "biting", "turn"];

export function FittingView({ fitting, press, stale, samples_changed, samples_of, onStartAnother, driven_by }: Props) {
  const desk = useDesk();
  const pressing = pressing_stages.includes(fitting.stage);
  const [shown, setShown] = useState<"plot" | "evidence">(pressing ? "plot" : "evidence");
  useEffect(() => setShown(pressing ? "plot" : "evidence"), [pressing]);
  const [draft, setDraft] = useState<Draft | null>(null);
  const step = `${fitting.serial}/${fitting.next.code}/${fitting.pass}/${fitting.bite}/${fitting.repeats}`;
  const acting = useActing(step, desk.took_answer);
  // A trace is shown over the envelope of its own bite, and gives way once the next bite is permitted.
  const permit_out = ["permit_recorded", "permit_given"].includes(fitting.stage);
  const traced = samples_of !== null && samples_of.serial === fitting.serial && samples_of.pass === fitting.pass && !permit_out
    ? samples_of : null;
  const notices = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (acting.trouble !== null) notices.current?.scrollIntoView({ block: "nearest" });
  }, [acting.trouble]);
  return (
    <main class="fitting">
      <FittingHead fitting={fitting} watching={driven_by !== ""} onAnswer={desk.took_answer} />
      <div class="work">
        <div class="step-notices" ref={notices}>
          <TroubleBox trouble={acting.trouble} />
          <LastFindings fitting={fitting} hidden={acting.trouble?.kind === "refused"} />
        </div>
        <NextAction
          fitting={fitting}
          press={press}
          stale={stale}
          gauges={desk.library?.gauges ?? []}
          person={desk.person}
          step={step}
          acting={acting}
          onStartAnother={onStartAnother}
          onDraft={setDraft}
          driven_by={driven_by}
        />
        <aside class="side">
          <section class="card"><FittingDrawing fitting={fitting} press={press} live={!stale && press.fresh} draft={draft?.input === fitting.next.input ? draft : null} /></section>
          <section class={`card shown-${shown}`}>
            <div class="tabs" role="group" aria-label={t("operator.beside")}>
              <button type="button" class="tab" aria-pressed={shown === "plot"} onClick={() => setShown("plot")}>{t("operator.force_against_gap")}</button>
              <button type="button" class="tab" aria-pressed={shown === "evidence"} onClick={() => setShown("evidence")}>{t("operator.measured_so_far")}</button>
            </div>
            {shown === "plot" ? (
              <ForcePlot envelope={traced?.envelope ?? fitting.envelope} target_kn={fitting.target_force_kn} rows={traced !== null ? live_samples : []}
                changed={samples_changed} fill label={t("operator.plot_label")} />
            ) : <EvidenceTable fitting={fitting} />}
          </section>
        </aside>
      </div>
    </main>
  );
}

/** Findings of the newest entry, until the next one: a refusal already shown is not shown twice. */
function LastFindings({ fitting, hidden }: { fitting: Fitting; hidden: boolean }) {
  const standing = new Set(has_verdict(fitting) ? fitting.standing.map((finding) => finding.code) : []);
  const findings = fitting.findings.filter((finding) => !standing.has(finding.code));
  if (hidden || findings.length === 0) return null;
  return (
    <section class="notice abnormal" role="status">
      <h3><Sign meaning="abnormal" />{t("operator.last_entry")}</h3>
      <FindingList findings={findings} />
    </section>
  );
}

function FittingHead({ fitting, watching, onAnswer }: { fitting: Fitting; watching: boolean; onAnswer: (outcome: Outcome<unknown>) => void }) {
  const [asking, setAsking] = useState<"aside" | "hold" | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => setTrouble(null), [fitting.serial, fitting.stage]);
  const act = async (what: "aside" | "hold") => {
    setAsking(null);
    const outcome = await api.act(fitting.serial, what);
    setTrouble(outcome.kind === "taken" ? null : outcome);
    onAnswer(outcome);
  };
  const between_bites = !watching && ["measure", "mark", "insert", "position", "turn", "gauge"].includes(fitting.stage);
  const can_hold = !["released", "scrapped", "hold", "aside"].includes(fitting.stage);
  const in_pass = ["position", "permit_recorded", "permit_given", "biting"].includes(fitting.stage);
  return (
    <section class="fitting-head">
      <div class="fitting-what">
        <span class="serial">{fitting.serial}</span>
        <span>{fitting.job}</span>
        <span>{fitting.recipe} {t("operator.rev", { revision: fitting.revision })}</span>
        <span>{t("operator.rope", { lot: fitting.rope_lot })}</span>
        <span>{t("operator.terminal", { lot: fitting.terminal_lot })}</span>
        {in_pass && <b>{t("operator.pass_and_bite", { pass: fitting.pass, passes: Math.max(fitting.pass, fitting.passes), bite: fitting.bite + 1, bites: fitting.bites_in_pass })}</b>}
      </div>
      <div class="button-row">
        {between_bites && <button type="button" class="button" onClick={() => setAsking("aside")}>{t("operator.put_aside")}</button>}
        {can_hold && <button type="button" class="button" onClick={() => setAsking("hold")}>{t("operator.hold")}</button>}
      </div>
      <Steps fitting={fitting} />
      <TroubleBox trouble={trouble} />
      {asking === "aside" && (
        <Confirm title={t("operator.aside_title", { serial: fitting.serial })} yes={t("operator.put_aside")} onYes={() => void act("aside")} onNo={() => setAsking(null)}>
          <p>{t("operator.aside_text")}</p>
        </Confirm>
      )}
      {asking === "hold" && (
        <Confirm title={t("operator.hold_title", { serial: fitting.serial })} yes={t("operator.hold_it")} onYes={() => void act("hold")} onNo={() => setAsking(null)}>
          <p>{t("operator.hold_text")}</p>
        </Confirm>
      )}
    </section>
  );
}
