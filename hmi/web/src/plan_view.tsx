// One job: what was planned, whether it may be cut, the cut list, the parts, and how far it is.
import { useState } from "preact/hooks";
import { address, api, type AccountLine, type Bill, type JobFinding, type LineProgress, type Plan, type PlannedLine, type WholeJob } from "./api";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { place_words } from "./plan_places";
import { ProgressBar } from "./plan_progress";
import { address_of } from "./routes";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { TextPad } from "./text_pad";
import { fixed, length, useLengthUnit, type LengthUnit } from "./units";

/** A cut length on record that the library of today would compute otherwise, by more than anybody cuts. */
const changed_mm = 0.05;

export function JobView({ whole, planner, onChanged }: { whole: WholeJob; planner: boolean; onChanged: (job: WholeJob) => void }) {
  const unit = useLengthUnit();
  const { job, plan } = whole;
  const may_be_cut = !job.withdrawn && plan !== null && plan.refusals.length === 0;
  return (
    <>
      <section class="card job-head">
        <p><a class="button" href={address_of({ view: "jobs" })}>{t("planner.all_jobs")}</a></p>
        <h2>{t("planner.job_title", { id: job.id })}</h2>
        <p>{job.title}</p>
        <p class="hint">
          {t("planner.entered", { by: job.entered_by, at: local_time(job.entered_utc) })}
          {job.changed_utc !== job.entered_utc && ` ${t("planner.changed", { by: job.changed_by, at: local_time(job.changed_utc) })}`}
        </p>
        {job.withdrawn && <p class="told told-danger"><Sign meaning="danger" size={30} /><span><b>{t("planner.withdrawn")}</b> {job.reason}</span></p>}
        {whole.faults.length > 0 && <FaultList faults={whole.faults} />}
        {may_be_cut && (
          <p class="button-row">
            <a class="button primary" href={address.cut_sheet(job.id, unit)} target="_blank" rel="noopener">{t("planner.cut_sheet")}</a>
            <a class="button" download href={address.job_table(job.id, "cuts", unit)}>{t("planner.cuts_csv")}</a>
            <a class="button" download href={address.job_table(job.id, "bill", unit)}>{t("planner.bill_csv")}</a>
          </p>
        )}
        {planner && !job.withdrawn && <Tending whole={whole} onChanged={onChanged} />}
      </section>
      {whole.progress !== null && (
        <section class="card">
          <h3>{t("planner.progress")}</h3>
          <ul class="line-progress">
            {whole.progress.lines.map((line) => <LineTold key={`${line.mark ?? ""} ${line.recipe}`} line={line} job={job.id} />)}
          </ul>
        </section>
      )}
      {plan !== null && <PlanTold plan={plan} on_record={whole.cuts_on_record} />}
    </>
  );
}

function LineTold({ line, job }: { line: LineProgress; job: string }) {
  const name = line.mark === null ? t("planner.no_line") : line.mark === "samples" ? t("planner.samples") : line.mark;
  return (
    <li data-line={line.mark ?? ""}>
      <p><b>{name}</b> <span>{line.recipe}</span> <a href={address_of({ view: "find", path: [`job "${line.job_text}"`] })}>{t("planner.its_fittings")}</a></p>
      <ProgressBar tally={line} label={t("planner.progress_of", { job: `${job} ${name}` })} />
      {line.mark === null ? <p class="hint">{t("planner.no_line_why")}</p> : <p class="hint">{t("planner.begin_for", { text: line.job_text })}</p>}
    </li>
  );
}

/** What a job comes to: used for a job on record and for one that is being entered. */
export function PlanTold({ plan, on_record = [] }: { plan: Plan; on_record?: WholeJob["cuts_on_record"] }) {
  const unit = useLengthUnit();
  if (plan.refusals.length > 0)
    return (
      <section class="card" data-refused>
        <div class="told told-danger">
          <Sign meaning="danger" size={30} />
          <div><p><b>{t("planner.must_not_be_cut")}</b></p><Findings findings={plan.refusals} /></div>
        </div>
      </section>
    );
  const other = on_record.filter((cut) => {
    const now = plan.assemblies.find((line) => line.mark === cut.mark);
    return now !== undefined && Math.abs(now.cut_length_mm - cut.cut_length_mm) > changed_mm;
  });
  return (
    <>
      <section class="card" data-plan>
        <h3>{t("planner.cut_list")}</h3>
        {other.length > 0 && (
          <div class="told" role="status">
            <Sign meaning="abnormal" size={30} />
            <div>
              <p><b>{t("planner.library_changed")}</b></p>
              <ul>{other.map((cut) => <li key={cut.mark}>{t("planner.was_planned", { mark: cut.mark, length: length(cut.cut_length_mm, unit, 1) })}</li>)}</ul>
            </div>
          </div>
        )}
        <CutList lines={plan.assemblies} unit={unit} />
        {plan.cautions.length > 0 && (
          <div class="told">
            <Sign meaning="abnormal" size={30} />
            <div><p><b>{t("planner.look_twice")}</b></p><Findings findings={plan.cautions} /></div>
          </div>
        )}
        <ul class="hint">{plan.standing_cautions.map((caution) => <li key={caution}>{caution}</li>)}</ul>
      </section>
      {plan.bill !== null && <BillTold bill={plan.bill} unit={unit} />}
    </>
  );
}

function CutList({ lines, unit }: { lines: readonly PlannedLine[]; unit: LengthUnit }) {
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={t("planner.cut_list")}>
      <table class="rows plan-table">
        <thead>
          <tr>
            <th scope="col">{t("planner.mark")}</th><th scope="col">{t("planner.pieces")}</th><th scope="col">{t("planner.rope")}</th>
            <th scope="col" class="amount">{t("planner.cut_at")}</th><th scope="col" class="amount">{t("planner.known_to")}</th>
            <th scope="col" class="amount">{t("planner.pin_to_pin")}</th><th scope="col" class="amount">{t("planner.tension")}</th>
            <th scope="col">{t("planner.end_a")}</th><th scope="col">{t("planner.end_b")}</th>
          </tr>
        </thead>
        <tbody>
          {lines.flatMap((line) => [
              <tr key={line.mark} data-cut={line.mark}>
                <th scope="row">{line.mark}</th><td>{line.pieces}</td><td>{line.rope}</td>
                <td class="amount"><b>{length(line.cut_length_mm, unit, 1)}</b></td><td class="amount">± {length(line.uncertainty_mm, unit, 1)}</td>
                <td class="amount">{length(line.pin_to_pin_mm, unit, 1)}</td>
                <td class="amount">{fixed(line.tension_kn, 2)} kN ({fixed(100 * line.tension_share, 0)} %)</td>
                {line.ends.map((end, at) => <td key={at}>{end.recipe ?? end.what}</td>)}
              </tr>,
              <tr class="account-row" key={`${line.mark} account`}>
                <td colSpan={9}>
                  <details><summary>{t("planner.where_from", { mark: line.mark })}</summary><Account lines={line.account} unit={unit} /></details>
                </td>
              </tr>,
          ])}
        </tbody>
      </table>
    </div>
  );
}

function Account({ lines, unit }: { lines: readonly AccountLine[]; unit: LengthUnit }) {
  return (
    <table class="rows account">
      <thead><tr><th scope="col">{t("planner.what")}</th><th scope="col" class="amount">{t("planner.adds")}</th><th scope="col" class="amount">{t("planner.uncertainty")}</th><th scope="col" class="amount">{t("planner.so_far")}</th><th scope="col">{t("planner.how")}</th></tr></thead>
      <tbody>
        {lines.map((line, at) => (
          <tr key={at}>
            <th scope="row">{line.line.replace(/_/g, " ")}{line.end === null ? "" : ` ${line.end}`}{line.given_by_job && ` (${t("planner.given_by_job")})`}</th>
            <td class="amount">{length(line.value_mm, unit, 1)}</td><td class="amount">± {length(line.uncertainty_mm, unit, 1)}</td><td class="amount">{length(line.total_mm, unit, 1)}</td>
            <td class="how">{line.formula}<small>{line.source}</small></td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function BillTold({ bill, unit }: { bill: Bill; unit: LengthUnit }) {
  const reel = (mm: number) => (unit === "in" ? `${fixed(mm / 304.8, 1)} ft` : `${fixed(mm / 1000, 2)} m`);
  return (
    <section class="card bill" data-bill>
      <h3>{t("planner.bill")}</h3>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("planner.bill")}>
        <table class="rows plan-table">
          <thead><tr><th scope="col">{t("planner.part")}</th><th scope="col" class="amount">{t("planner.amount")}</th><th scope="col">{t("planner.of_which")}</th></tr></thead>
          <tbody>
            {bill.ropes.map((need) => (
              <tr key={need.rope}><th scope="row">{need.rope}</th><td class="amount"><b>{reel(need.total_mm)}</b></td>
                <td>{t("planner.in_pieces", { count: need.pieces.reduce((sum, piece) => sum + piece.count, 0) })}{need.mass_kg !== null && `, ${fixed(need.mass_kg, 2)} kg`}</td></tr>
            ))}
            {bill.terminals.map((need) => (
              <tr key={need.terminal}><th scope="row">{need.terminal}{need.end !== null && `, ${need.end}`}</th><td class="amount"><b>{need.total}</b></td>
                <td>{t("planner.terminals_of", { assemblies: need.assemblies, samples: need.samples, spare: need.spare })}</td></tr>
            ))}
            {bill.other_ends.map((need) => <tr key={need.what}><th scope="row">{need.what}</th><td class="amount"><b>{need.count}</b></td><td>{need.made.replace(/_/g, " ")}</td></tr>)}
          </tbody>
        </table>
      </div>
      {bill.recipes.length > 0 && (
        <>
          <h3>{t("planner.press_and_tools")}</h3>
          <div class="scroll" tabIndex={0} role="region" aria-label={t("planner.press_and_tools")}>
            <table class="rows plan-table">
              <thead><tr><th scope="col">{t("planner.recipe")}</th><th scope="col">{t("planner.press")}</th><th scope="col">{t("planner.die_pair")}</th><th scope="col" class="amount">{t("planner.target")}</th><th scope="col" class="amount">{t("planner.fittings")}</th><th scope="col" class="amount">{t("planner.strokes")}</th><th scope="col">{t("planner.gauges")}</th></tr></thead>
              <tbody>
                {bill.recipes.map((need) => (
                  <tr key={need.recipe}><th scope="row">{need.recipe} r{need.revision}</th><td>{need.press}</td><td>{need.die_pair} ({t("planner.tag", { tag: need.die_tag })})</td>
                    <td class="amount">{fixed(need.target_force_kn, 0)} kN</td><td class="amount">{need.fittings}</td><td class="amount">{need.strokes}</td>
                    <td class="how">{[need.go_gauge, need.no_go_gauge, ...need.measuring_gauges].join(", ")}</td></tr>
                ))}
              </tbody>
            </table>
          </div>
        </>
      )}
    </section>
  );
}

function Findings({ findings }: { findings: readonly JobFinding[] }) {
  return (
    <ul class="findings">
      {findings.map((finding) => (
        <li key={`${finding.code} ${finding.place}`}>
          <span>{t("planner.at_place", { place: place_words(finding.place) })} <b>{finding.found}</b></span>
          <span>{t("planner.expected", { expected: finding.expected })}</span>
        </li>
      ))}
    </ul>
  );
}

function FaultList({ faults }: { faults: WholeJob["faults"] }) {
  return (
    <div class="told told-danger">
      <Sign meaning="danger" size={30} />
      <div>
        <p><b>{t("planner.library_lacks")}</b></p>
        <ul>{faults.map((fault) => <li key={fault.place}>{t("planner.at_place", { place: place_words(fault.place) })} <b>{fault.found}</b>. {t("planner.expected", { expected: fault.expected })}</li>)}</ul>
      </div>
    </div>
  );
}

function Tending({ whole, onChanged }: { whole: WholeJob; onChanged: (job: WholeJob) => void }) {
  const desk = useDesk();
  const [open, setOpen] = useState(false);
  const [reason, setReason] = useState("");
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const withdraw = async () => {
    const outcome = await api.withdraw_job(whole.job.id, reason.trim());
    desk.took_answer(outcome);
    if (outcome.kind === "taken") onChanged(outcome.body);
    else setTrouble(outcome);
  };
  return (
    <>
      <TroubleBox trouble={trouble} />
      {open ? (
        <div class="disposition">
          <p class="hint">{t("planner.withdraw_means")}</p>
          <TextPad label={t("planner.why_withdraw")} value={reason} onChange={setReason} long />
          <div class="button-row">
            <button type="button" class="button" onClick={() => setOpen(false)}>{t("common.go_back")}</button>
            <button type="button" class="button strong" disabled={reason.trim() === ""} onClick={() => void withdraw()}>{t("planner.withdraw_now")}</button>
          </div>
        </div>
      ) : (
        <p class="button-row">
          <a class="button" href={address_of({ view: "jobs", path: ["of", whole.job.id, "change"] })}>{t("planner.change")}</a>
          <button type="button" class="button" onClick={() => setOpen(true)}>{t("planner.withdraw")}</button>
        </p>
      )}
    </>
  );
}
