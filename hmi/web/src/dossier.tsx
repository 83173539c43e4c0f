// Every entry of one fitting in order: what was read and decided, the trace of each bite over the envelope it was judged
// by, and corrections beside what they correct.
import { useState } from "preact/hooks";
import { read_dossier, type DossierBite, type DossierEntry, type Fact } from "./dossier_reading";
import { event_words, kind_words } from "./entry_words";
import { local_time } from "./find";
import { FindingList } from "./findings";
import { ForcePlot } from "./force_plot";
import { words } from "./kinds";
import { many, t } from "./messages";
import { TextPad } from "./text_pad";

interface Correcting {
  busy: boolean;
  onCorrect: (of_entry: number, text: string, reason: string) => void;
}

/** `correcting`: null where nobody is signed in who could. */
export function Dossier({ dossier, correcting }: { dossier: unknown; correcting: Correcting | null }) {
  if (dossier === null) return <p class="hint" role="status">{t("reviewer.asking_dossier")}</p>;
  const entries = read_dossier(dossier);
  return (
    <section class="dossier">
      <h3>{many(entries.length, "reviewer.record_one_entry", "reviewer.record_entries")}</h3>
      <ol>
        {entries.map((entry) => (
          <Entry key={entry.sequence} entry={entry} corrections={entries.filter((other) => other.corrects === entry.sequence)} correcting={correcting} />
        ))}
      </ol>
    </section>
  );
}

function Entry({ entry, corrections, correcting }: { entry: DossierEntry; corrections: readonly DossierEntry[]; correcting: Correcting | null }) {
  return (
    <li class={`entry entry-${entry.kind}${corrections.length > 0 ? " entry-corrected" : ""}`} id={`entry-${entry.sequence}`}>
      <p class="entry-head">
        <span class="entry-number">{entry.sequence}</span>
        <b>{event_words(entry.event)}</b>
        <span class="entry-kind">{kind_words(entry.kind)}</span>
        <time dateTime={entry.at_utc}>{local_time(entry.at_utc)}</time>
        <span>{entry.actor}</span>
      </p>
      {entry.corrects !== null && <p>{t("reviewer.corrects_entry", { entry: entry.corrects })} <q>{entry.text}</q> {t("reviewer.because", { reason: entry.reason })}</p>}
      {entry.findings.length > 0 && <FindingList findings={entry.findings} />}
      {entry.bite !== null && <Bite bite={entry.bite} sequence={entry.sequence} />}
      {entry.facts.length > 0 && <Facts facts={entry.facts} />}
      {corrections.map((correction) => (
        <div class="correction" key={correction.sequence} data-correction={correction.sequence}>
          <p><b>{t("reviewer.set_right")}</b> <q>{correction.text}</q></p>
          <p>{t("reviewer.because", { reason: correction.reason })}</p>
          <p class="hint">{t("reviewer.corrected_by", { by: correction.actor, at: local_time(correction.at_utc), entry: correction.sequence })}</p>
        </div>
      ))}
      <div class="entry-more">
        {entry.everything.length > 0 && (
          <details class="entry-details">
            <summary>{t("reviewer.all_recorded")}</summary>
            <Facts facts={entry.everything} />
          </details>
        )}
        {correcting !== null && entry.corrects === null && <Correct entry={entry} correcting={correcting} />}
      </div>
    </li>
  );
}

function Correct({ entry, correcting }: { entry: DossierEntry; correcting: Correcting }) {
  const [open, setOpen] = useState(false);
  const [text, setText] = useState("");
  const [reason, setReason] = useState("");
  if (!open)
    return (
      <button type="button" class="quiet" aria-label={t("reviewer.correct_entry", { entry: entry.sequence })} onClick={() => setOpen(true)}>{t("reviewer.correct")}</button>
    );
  const ready = text.trim() !== "" && reason.trim() !== "";
  return (
    <form class="disposition correct" data-correcting={entry.sequence} onSubmit={(event) => {
      event.preventDefault();
      if (!ready) return;
      correcting.onCorrect(entry.sequence, text.trim(), reason.trim());
      setOpen(false);
      setText("");
      setReason("");
    }}>
      <p class="hint">{t("reviewer.entry_stays")}</p>
      <TextPad label={t("reviewer.what_is_right")} value={text} onChange={setText} long />
      <TextPad label={t("reviewer.why")} value={reason} onChange={setReason} long />
      <div class="button-row">
        <button type="button" class="button" onClick={() => setOpen(false)}>{t("common.go_back")}</button>
        <button type="submit" class="button primary" disabled={correcting.busy || !ready}>{t("reviewer.record_correction")}</button>
      </div>
    </form>
  );
}

function Bite({ bite, sequence }: { bite: DossierBite; sequence: number }) {
  return (
    <>
      <p><b>{t("reviewer.pass_bite", { pass: bite.pass, bite: bite.bite })}</b></p>
      <Facts facts={bite.facts} />
      {bite.rows.length > 0 && (
        <ForcePlot envelope={bite.envelope} target_kn={bite.target_kn} rows={bite.rows} changed={0} whole_die={bite.whole_die}
          label={t("reviewer.plot_of_entry", { entry: sequence })} />
      )}
    </>
  );
}

const spoken_units: Readonly<Record<string, string>> = { mm: "mm", deg: "deg", kn: "kN", bar: "bar", ms: "ms", s: "s" };

/** "readings_mm" 4.00, 4.03 -> "readings" 4.00, 4.03 mm: the record has the unit last in the name, people after the value. */
function with_unit({ name, value }: Fact): Fact {
  const match = /^(.+)_(mm|deg|kn|bar|ms|s)$/.exec(name);
  const unit = spoken_units[match?.[2] ?? ""];
  return match?.[1] === undefined || unit === undefined || !/\d\)?$/.test(value) ? { name, value } : { name: match[1], value: `${value} ${unit}` };
}

function Facts({ facts }: { facts: readonly Fact[] }) {
  return (
    <dl class="entry-facts">
      {facts.map(with_unit).map((fact) => <div key={fact.name}><dt>{words(fact.name)}</dt><dd>{fact.value}</dd></div>)}
    </dl>
  );
}
