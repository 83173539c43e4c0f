// One fitting at the press: what it is, where it stands, what to do now, and beside it the drawing and the trace.
import { useEffect, useRef, useState } from "preact/hooks";
import { useActing } from "./acting";
import { api, type Fitting, type Outcome, type Press } from "./api";
import { Confirm } from "./confirm";
import { SectionDrawing } from "./drawing";
import { EvidenceTable } from "./evidence_table";
import { FindingList, TroubleBox, type Trouble } from "./findings";
import { ForcePlot } from "./force_plot";
import { live_samples, type SamplesOwner } from "./live";
import { has_verdict, NextAction } from "./next_action";
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
}

const pressing_stages = ["position", "permit_recorded", "permit_given", "biting", "turn"];

export function FittingView({ fitting, press, stale, samples_changed, samples_of, onStartAnother }: Props) {
  const desk = useDesk();
  const pressing = pressing_stages.includes(fitting.stage);
  const [shown, setShown] = useState<"plot" | "evidence">(pressing ? "plot" : "evidence");
  useEffect(() => setShown(pressing ? "plot" : "evidence"), [pressing]);
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
      <FittingHead fitting={fitting} onAnswer={desk.took_answer} />
      <div class="work">
        <div class="notices" ref={notices}>
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
        />
        <aside class="side">
          <section class="card"><SectionDrawing fitting={fitting} press={press} live={!stale && press.fresh} /></section>
          <section class={`card shown-${shown}`}>
            <div class="tabs" role="group" aria-label="Beside the drawing">
              <button type="button" class="tab" aria-pressed={shown === "plot"} onClick={() => setShown("plot")}>Force against gap</button>
              <button type="button" class="tab" aria-pressed={shown === "evidence"} onClick={() => setShown("evidence")}>Measured so far</button>
            </div>
            {shown === "plot" ? (
              <ForcePlot envelope={traced?.envelope ?? fitting.envelope} target_kn={fitting.target_force_kn} rows={traced !== null ? live_samples : []}
                changed={samples_changed} fill label="Force against gap of this bite over the accepted band" />
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
      <h3><Sign meaning="abnormal" />From the last entry</h3>
      <FindingList findings={findings} />
    </section>
  );
}

function FittingHead({ fitting, onAnswer }: { fitting: Fitting; onAnswer: (outcome: Outcome<unknown>) => void }) {
  const [asking, setAsking] = useState<"aside" | "hold" | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => setTrouble(null), [fitting.serial, fitting.stage]);
  const act = async (what: "aside" | "hold") => {
    setAsking(null);
    const outcome = await api.act(fitting.serial, what);
    setTrouble(outcome.kind === "taken" ? null : outcome);
    onAnswer(outcome);
  };
  const between_bites = ["measure", "mark", "insert", "position", "turn", "gauge"].includes(fitting.stage);
  const can_hold = !["released", "scrapped", "hold", "aside"].includes(fitting.stage);
  const in_pass = ["position", "permit_recorded", "permit_given", "biting"].includes(fitting.stage);
  return (
    <section class="fitting-head">
      <div class="fitting-what">
        <span class="serial">{fitting.serial}</span>
        <span>{fitting.job}</span>
        <span>{fitting.recipe} rev {fitting.revision}</span>
        <span>rope {fitting.rope_lot}</span>
        <span>terminal {fitting.terminal_lot}</span>
        {in_pass && <b>Pass {fitting.pass} of {Math.max(fitting.pass, fitting.passes)}, bite {fitting.bite + 1} of {fitting.bites_in_pass}</b>}
      </div>
      <div class="button-row">
        {between_bites && <button type="button" class="button" onClick={() => setAsking("aside")}>Put aside</button>}
        {can_hold && <button type="button" class="button" onClick={() => setAsking("hold")}>Hold</button>}
      </div>
      <Steps fitting={fitting} />
      <TroubleBox trouble={trouble} />
      {asking === "aside" && (
        <Confirm title={`Put ${fitting.serial} aside?`} yes="Put aside" onYes={() => void act("aside")} onNo={() => setAsking(null)}>
          <p>You can resume it later. After a bite, the shank must then be laid back on its flats and the angle proven again.</p>
        </Confirm>
      )}
      {asking === "hold" && (
        <Confirm title={`Hold ${fitting.serial}?`} yes="Hold it" onYes={() => void act("hold")} onNo={() => setAsking(null)}>
          <p>Work on it stops. Only a reviewer can decide about it afterwards.</p>
        </Confirm>
      )}
    </section>
  );
}
