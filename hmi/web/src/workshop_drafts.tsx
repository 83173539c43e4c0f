// Drafts of recipe revisions: what each changes, and its release by somebody else than who made it.
import { useEffect, useState } from "preact/hooks";
import type { Outcome } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { PinPad } from "./pin_pad";
import { address_of } from "./routes";
import { useDesk } from "./session";
import { Sign, type Meaning } from "./signs";
import { TextPad } from "./text_pad";
import { workshop_api, type Draft, type DraftLook } from "./workshop_api";
import { kn, minute, share } from "./workshop_words";

function state_words(draft: Draft): { text: string; meaning: Meaning } {
  if (draft.state === "waiting") return { text: t("technician.draft_waiting"), meaning: "mandatory" };
  if (draft.state === "dropped") return { text: t("technician.draft_dropped", { by: draft.ended_by }), meaning: "neutral" };
  return { text: draft.in_force ? t("technician.draft_in_force", { by: draft.ended_by }) : t("technician.draft_released", { by: draft.ended_by }), meaning: draft.in_force ? "normal" : "abnormal" };
}

export function Drafts({ chosen }: { chosen: string }) {
  const [drafts, setDrafts] = useState<Draft[] | null>(null);
  const [look, setLook] = useState<DraftLook | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const read = () => void workshop_api.drafts().then((outcome) => {
    if (outcome.kind === "taken") setDrafts(outcome.body.drafts);
    else setTrouble(outcome);
  });
  useEffect(read, []);
  useEffect(() => {
    setLook(null);
    setTrouble(null);
    if (chosen === "") return;
    let wanted = true;
    void workshop_api.draft(chosen).then((outcome) => {
      if (!wanted) return;
      if (outcome.kind === "taken") setLook(outcome.body.draft);
      else setTrouble(outcome);
    });
    return () => { wanted = false; };
  }, [chosen]);
  return (
    <div class="workshop-columns drafts">
      <section class="card">
        <h2>{t("technician.drafts_title")}</h2>
        {drafts?.length === 0 && <p class="hint">{t("technician.drafts_none")}</p>}
        <ul class="earlier">
          {drafts?.map((draft) => {
            const { text, meaning } = state_words(draft);
            return (
              <li key={draft.id}>
                <a class="choice" href={address_of({ view: "workshop", path: ["drafts", draft.id] })} aria-current={draft.id === chosen ? "true" : undefined} data-draft={draft.id}>
                  <b>{draft.id}</b>
                  <span class="with-sign"><Sign meaning={meaning} size={20} />{text}</span>
                  <small>{t("technician.draft_line", { by: draft.made_by, when: minute(draft.made_utc), force: kn(draft.trial.recommended_kn, 0) })}</small>
                </a>
              </li>
            );
          })}
        </ul>
      </section>
      <section class="card">
        <TroubleBox trouble={trouble} />
        {look !== null && <Look key={look.id} draft={look} onChanged={(changed) => { setLook(changed); read(); }} />}
        {look === null && trouble === null && <p class="hint">{t("technician.draft_choose")}</p>}
      </section>
    </div>
  );
}

/** What a reviewer looks for first comes first. */
const important = ["target_force", "force_limit", "peak_force", "growth"];
function rank(path: string): number {
  const at = important.findIndex((head) => path.startsWith(head));
  return at < 0 ? important.length + (path.startsWith("envelope") ? 1 : 0) : at;
}

/** "target_force_kn" -> "target force, kN"; list places are counted from one. */
function member_words(path: string): string {
  const envelope = /^envelope\.(\d+)\.(\d+)\.(gap_mm|force_kn\.(least|most))$/.exec(path);
  if (envelope !== null) {
    const place = { pass: Number(envelope[1]) + 1, point: Number(envelope[2]) + 1 };
    return envelope[4] === undefined ? t("technician.envelope_gap", place) : t(envelope[4] === "least" ? "technician.envelope_least" : "technician.envelope_most", place);
  }
  const units: Record<string, string> = { mm: "mm", kn: "kN", deg: "°", ms: "ms", s: "s" };
  const words = path.split(".").map((part) => (/^\d+$/.test(part) ? String(Number(part) + 1) : part.replaceAll("_", " "))).join(" ");
  const unit = / (mm|kn|deg|ms|s)( |$)/.exec(words);
  return unit === null ? words : `${words.replace(unit[0], unit[2] === "" ? "" : " ")}, ${units[unit[1] ?? ""] ?? ""}`;
}

function value_words(text: string): string {
  const number = Number(text);
  return text !== "" && Number.isFinite(number) ? String(Number(number.toPrecision(6))) : text;
}

function Look({ draft, onChanged }: { draft: DraftLook; onChanged: (draft: DraftLook) => void }) {
  const { text, meaning } = state_words(draft);
  const long = draft.changes.filter((change) => change.what === "source");
  const short = draft.changes.filter((change) => change.what !== "source").sort((a, b) => rank(a.what) - rank(b.what));
  return (
    <div class="draft-look">
      <h2>{draft.id}</h2>
      <p class="with-sign" role="status" data-draft-state={draft.state}><Sign meaning={meaning} size={24} />{text}</p>
      {draft.reason !== "" && <p>{t("technician.reason_given", { reason: draft.reason })}</p>}
      {draft.state === "released" && !draft.in_force && <p class="hint">{t("technician.from_next_start")}</p>}
      <p class="hint">{t("technician.draft_from", { by: draft.made_by, when: minute(draft.made_utc), fittings: draft.trial.fittings, seed: draft.trial.seed, rejected: share(draft.trial.rejected_share, 2) })}</p>
      {[...draft.faults, ...draft.warnings].map((problem) => <p class="with-sign" key={problem.place + problem.found}><Sign meaning="abnormal" size={20} />{problem.place}: {problem.found}; {problem.expected}</p>)}
      <h3>{draft.against_revision === null ? t("technician.changes_new") : t("technician.changes", { revision: draft.against_revision })}</h3>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("technician.what")}>
        <table class="rows changes">
          <thead><tr><th scope="col">{t("technician.what")}</th><th scope="col">{t("technician.was")}</th><th scope="col">{t("technician.becomes")}</th></tr></thead>
          <tbody>{short.map((change) => <tr key={change.what}><th scope="row">{member_words(change.what)}</th><td>{value_words(change.was)}</td><td><b>{value_words(change.becomes)}</b></td></tr>)}</tbody>
        </table>
      </div>
      {long.map((change) => <details key={change.what}><summary>{t("technician.source_changes")}</summary><p>{change.becomes}</p></details>)}
      <details><summary>{t("technician.draft_text")}</summary><pre class="draft-text" tabIndex={0}>{draft.text}</pre></details>
      {draft.state === "waiting" && <Decide draft={draft} onChanged={onChanged} />}
    </div>
  );
}

function Decide({ draft, onChanged }: { draft: DraftLook; onChanged: (draft: DraftLook) => void }) {
  const desk = useDesk();
  const [reason, setReason] = useState("");
  const [pin, setPin] = useState("");
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const roles = desk.person?.roles ?? [];
  const own = desk.person?.id === draft.made_by;
  const may_release = roles.includes("reviewer") && !own && draft.faults.length === 0;
  const run = async (request: Promise<Outcome<{ draft: DraftLook }>>) => {
    setBusy(true);
    setPin("");
    const outcome = await request;
    setBusy(false);
    desk.took_answer(outcome);
    if (outcome.kind === "taken") onChanged(outcome.body.draft);
    else setTrouble(outcome);
  };
  const missing = [reason.trim() === "" ? t("technician.wants_reason") : "", may_release && pin.length < 4 ? t("technician.wants_pin") : ""].filter((text) => text !== "");
  return (
    <form class="calibration-form" onSubmit={(event) => { event.preventDefault(); if (may_release && missing.length === 0) void run(workshop_api.release(draft.id, reason.trim(), pin)); }}>
      <h3>{t("technician.release_title")}</h3>
      <p>{t("technician.release_text")}</p>
      {own && <p class="with-sign"><Sign meaning="neutral" size={22} />{t("technician.release_own")}</p>}
      {!own && !roles.includes("reviewer") && <p class="with-sign"><Sign meaning="neutral" size={22} />{t("technician.release_reviewer")}</p>}
      {(may_release || roles.includes("technician")) && <TextPad label={t("technician.reason")} value={reason} onChange={setReason} long />}
      {may_release && <PinPad label={t("technician.sign_pin")} value={pin} onChange={setPin} disabled={busy} />}
      <TroubleBox trouble={trouble} />
      <div class="button-row">
        {may_release && <button type="submit" class="button primary" disabled={busy || missing.length > 0}>{t("technician.release")}</button>}
        {roles.includes("technician") && <button type="button" class="button" disabled={busy || reason.trim() === ""} onClick={() => void run(workshop_api.drop(draft.id, reason.trim()))}>{t("technician.drop")}</button>}
      </div>
      {(may_release || roles.includes("technician")) && <p class="hint" role="status">{missing.length > 0 ? t("technician.still_wanted", { what: missing.join(", ") }) : t("technician.ready_record")}</p>}
    </form>
  );
}
