// One fitting by its serial, away from the press: its verdict, what waits for a decision, its papers and its dossier.
import { useEffect, useState } from "preact/hooks";
import { api, type ActAnswer, type Fitting, type Outcome } from "./api";
import { Disposition } from "./disposition";
import { Dossier } from "./dossier";
import { EvidenceTable } from "./evidence_table";
import { TroubleBox, type Trouble } from "./findings";
import { local_time } from "./find";
import type { LivePicture } from "./live";
import { t } from "./messages";
import { ProofLoad } from "./proof_load";
import { DossierProofBox } from "./review_integrity";
import { Papers } from "./review_papers";
import { address_of, go_to } from "./routes";
import { useDesk } from "./session";
import { SignIn } from "./sign_in";
import { VerdictBanner } from "./verdict";

// A pull tests what has been pressed and is not scrapped; at any time after, too.
const may_be_pulled = (fitting: Fitting) => ["accepted", "released"].includes(fitting.stage) || (fitting.stage === "hold" && fitting.bites_done > 0);

export function FittingPage({ serial, picture }: { serial: string; picture: LivePicture }) {
  const desk = useDesk();
  const [fitting, setFitting] = useState<Fitting | null>(null);
  const [dossier, setDossier] = useState<unknown>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const [busy, setBusy] = useState(false);
  const [asked, setAsked] = useState(0);
  const [said, setSaid] = useState("");
  const station = picture.station;
  const waits_in = station === null ? "" : station.held.includes(serial) ? "held" : station.set_aside.includes(serial) ? "aside" : "";

  useEffect(() => {
    let wanted = true;
    void api.fitting(serial).then((outcome) => {
      if (!wanted) return;
      if (outcome.kind === "taken") setFitting(outcome.body.fitting);
      else setTrouble(outcome);
    });
    void api.dossier(serial).then((outcome) => { if (wanted && outcome.kind === "taken") setDossier(outcome.body); });
    return () => { wanted = false; };
  }, [serial, asked, waits_in]);

  const run = async (request: Promise<Outcome<ActAnswer>>, then: () => void) => {
    setBusy(true);
    setTrouble(null);
    setSaid("");
    const outcome = await request;
    setBusy(false);
    desk.took_answer(outcome);
    if (outcome.kind === "taken") then();
    else setTrouble(outcome);
  };
  const again = () => setAsked((count) => count + 1);
  const correcting = desk.person === null ? null : {
    busy,
    onCorrect: (of_entry: number, text: string, reason: string) =>
      void run(api.correct(serial, of_entry, text, reason), () => { setSaid(t("reviewer.correction_recorded")); again(); }),
  };

  return (
    <main class="fitting-page card">
      <p><a class="button" href={address_of({ view: "find" })} onClick={(event) => { if (history.length > 1) { event.preventDefault(); history.back(); } }}>{t("reviewer.back_to_list")}</a></p>
      <h2>{t("reviewer.fitting")} <span class="serial">{serial}</span></h2>
      <TroubleBox trouble={trouble} />
      <p class="hint" role="status">{said}</p>
      {fitting !== null && (
        <>
          <p class="facts">
            {t("reviewer.facts", { job: fitting.job, recipe: fitting.recipe, revision: fitting.revision, rope_lot: fitting.rope_lot,
              terminal_lot: fitting.terminal_lot, at: local_time(fitting.started_utc), by: fitting.operator })}
          </p>
          <VerdictBanner fitting={fitting} />
          <DossierProofBox serial={serial} changed={asked} />
          <Papers fitting={fitting} />
          {fitting.stage === "hold" && (desk.person === null ? <SignIn cautions={[]} /> : (
            <Disposition fitting={fitting} person={desk.person} busy={busy}
              onDispose={(what, reason, pin) => void run(api.dispose(serial, what, reason, pin), again)} />
          ))}
          {may_be_pulled(fitting) && desk.person?.roles.includes("operator") && (
            <details class="pull">
              <summary class="button">{t("reviewer.record_a_pull")}</summary>
              <ProofLoad key={asked} proof={fitting.proof} gauges={desk.library?.gauges ?? []} busy={busy}
                onRecord={(body) => void run(api.evidence(serial, body), () => { setSaid(t("reviewer.pull_recorded")); again(); })} />
            </details>
          )}
          {fitting.stage === "aside" && desk.person !== null && (
            <button type="button" class="button primary" disabled={busy}
              onClick={() => void run(api.act(serial, "resume"), () => go_to({ view: "press" }))}>{t("reviewer.resume_at_press")}</button>
          )}
          <EvidenceTable fitting={fitting} />
          <Dossier dossier={dossier} correcting={correcting} />
        </>
      )}
      {fitting === null && trouble === null && <p class="hint" role="status">{t("reviewer.asking")}</p>}
    </main>
  );
}
