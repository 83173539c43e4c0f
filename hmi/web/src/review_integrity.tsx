// Whether the record is what the station wrote: the newest verification of the whole, and the proof of one dossier.
import { useEffect, useState } from "preact/hooks";
import { api, type DossierProof, type IntegrityFinding, type Verification } from "./api";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { many, t } from "./messages";
import { useDesk } from "./session";
import { Sign, type Meaning } from "./signs";
import { fixed } from "./units";

const look_again_ms = 1000;

export function RecordIntegrity() {
  const desk = useDesk();
  const [now, setNow] = useState<Verification | null>(null);
  const [asked, setAsked] = useState(0);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => {
    let wanted = true;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const look = async () => {
      const outcome = await api.integrity();
      if (!wanted) return;
      if (outcome.kind === "taken") {
        setNow(outcome.body);
        setTrouble(null);
        if (outcome.body.state !== "running") return;
      } else {
        setTrouble(outcome);
      }
      timer = setTimeout(() => void look(), look_again_ms);
    };
    void look();
    return () => { wanted = false; clearTimeout(timer); };
  }, [asked]);
  const verify = async () => {
    const outcome = await api.verify();
    desk.took_answer(outcome);
    if (outcome.kind === "taken") setAsked((count) => count + 1);
    else setTrouble(outcome);
  };
  return (
    <section class="card integrity" aria-label={t("reviewer.integrity")} data-integrity={now?.state}>
      <h3>{t("reviewer.integrity")}</h3>
      <TroubleBox trouble={trouble} />
      {now !== null && <VerificationTold verification={now} />}
      {desk.person?.roles.includes("reviewer") === true ? (
        <button type="button" class="button" disabled={now === null || now.state === "running"} onClick={() => void verify()}>{t("reviewer.verify_now")}</button>
      ) : <p class="hint">{t("reviewer.verify_by_reviewer")}</p>}
    </section>
  );
}

// The other two parts are SQLite's own work, of which it tells no measure.
const counts = (part: string) => part === "hashes" || part === "index_made";

function VerificationTold({ verification: v }: { verification: Verification }) {
  if (v.state === "never") return <Told meaning="neutral" words={t("reviewer.never_verified")} />;
  if (v.state === "running") {
    const gone = fixed(v.running_s ?? 0, 0);
    return (
      <>
        <Told meaning="neutral" words={t("reviewer.verifying", { by: v.asked_by, seconds: gone, size: fixed(v.bytes / 1e6, 0) })} />
        {v.part !== null && (
          <>
            <progress max={Math.max(v.part_of ?? 0, 1)} value={counts(v.part) ? (v.part_done ?? 0) : undefined} aria-label={t("reviewer.verify_progress")} />
            <p class="hint" data-verify-part={v.part}>{t(`reviewer.verify_${v.part}`, { done: v.part_done ?? 0, of: v.part_of ?? 0 })}</p>
          </>
        )}
      </>
    );
  }
  const when = t("reviewer.verified_when", { at: local_time(v.ended_utc ?? ""), by: v.asked_by });
  if (v.state === "failed") return <Told meaning="danger" words={`${t("reviewer.not_readable")} ${v.fault}`} more={when} />;
  const counted = t("reviewer.verified_counts", { entries: v.entries, fittings: v.fittings, traces: v.traces, seals: v.seals, newest: v.newest_entry });
  return v.sound === true ? (
    <Told meaning="normal" words={t("reviewer.record_sound")} more={`${counted} ${when}`} notes={v.notes} />
  ) : (
    <Told meaning="danger" words={t("reviewer.record_broken")} findings={v.findings} more={`${counted} ${when}`} notes={v.notes} />
  );
}

export function DossierProofBox({ serial, changed }: { serial: string; changed: unknown }) {
  const [proof, setProof] = useState<DossierProof | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => {
    let wanted = true;
    void api.prove(serial).then((outcome) => {
      if (!wanted) return;
      setProof(outcome.kind === "taken" ? outcome.body : null);
      setTrouble(outcome.kind === "taken" ? null : outcome);
    });
    return () => { wanted = false; };
  }, [serial, changed]);
  if (trouble !== null) return <TroubleBox trouble={trouble} />;
  if (proof === null) return <p class="hint" role="status">{t("reviewer.proving")}</p>;
  const range = t("reviewer.proof_range", { count: proof.entries, first: proof.first_entry, last: proof.last_entry });
  const seal = proof.seal === null ? t("reviewer.no_seal_yet") : t("reviewer.seal_covers", { entry: proof.seal.entry, at: local_time(proof.seal.at_utc) });
  return (
    <section class="proof" aria-label={t("reviewer.dossier_integrity")} data-proof={proof.findings.length > 0 ? "broken" : proof.sealed ? "sealed" : "unsealed"}>
      {proof.findings.length > 0 ? <Told meaning="danger" words={t("reviewer.dossier_broken")} findings={proof.findings} notes={proof.notes} />
        : proof.too_long ? <Told meaning="neutral" words={t("reviewer.own_entries_hold", { count: proof.entries })} more={seal} notes={proof.notes} />
          : <Told meaning={proof.sealed ? "normal" : "neutral"} words={proof.sealed ? t("reviewer.dossier_sound") : t("reviewer.dossier_unsealed")} more={`${range} ${seal}`} notes={proof.notes} />}
    </section>
  );
}

function Told(props: { meaning: Meaning; words: string; more?: string; findings?: readonly IntegrityFinding[]; notes?: readonly string[] }) {
  return (
    <div class={`told told-${props.meaning}`} role="status">
      <Sign meaning={props.meaning} size={30} />
      <div>
        <p><b>{props.words}</b></p>
        {props.findings !== undefined && props.findings.length > 0 && <ul>{props.findings.map((finding) => <li key={finding.what}>{finding.what}</li>)}</ul>}
        {props.more !== undefined && <p>{props.more}</p>}
        {props.notes !== undefined && props.notes.length > 0 && (
          <details class="entry-details">
            <summary>{many(props.notes.length, "reviewer.one_note", "reviewer.notes")}</summary>
            <ul>{props.notes.map((note) => <li key={note}>{note}</li>)}</ul>
          </details>
        )}
      </div>
    </div>
  );
}
