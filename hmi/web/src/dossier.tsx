// Every entry of one fitting in order, with the trace of each bite over the envelope it was judged by.
import { read_dossier, type DossierBite, type DossierEntry, type Fact } from "./dossier_reading";
import { local_time } from "./find";
import { FindingList } from "./findings";
import { ForcePlot } from "./force_plot";
import { sentence, words } from "./kinds";

export function Dossier({ dossier }: { dossier: unknown }) {
  if (dossier === null) return <p class="hint">Asking the record for the dossier.</p>;
  const entries = read_dossier(dossier);
  return (
    <section class="dossier">
      <h3>Record, {entries.length} {entries.length === 1 ? "entry" : "entries"}</h3>
      <ol>{entries.map((entry) => <Entry key={entry.sequence} entry={entry} />)}</ol>
    </section>
  );
}

function Entry({ entry }: { entry: DossierEntry }) {
  return (
    <li class={`entry entry-${entry.kind}`}>
      <p class="entry-head">
        <span class="entry-number">{entry.sequence}</span>
        <b>{sentence(entry.event)}</b>
        <span class="entry-kind">{words(entry.kind)}</span>
        <span>{local_time(entry.at_utc)}</span>
        <span>{entry.actor}</span>
      </p>
      {entry.findings.length > 0 && <FindingList findings={entry.findings} />}
      {entry.bite !== null && <Bite bite={entry.bite} sequence={entry.sequence} />}
      {entry.facts.length > 0 && <Facts facts={entry.facts} />}
      {entry.everything.length > 0 && (
        <details class="entry-details">
          <summary>All that was recorded</summary>
          <Facts facts={entry.everything} />
        </details>
      )}
    </li>
  );
}

function Bite({ bite, sequence }: { bite: DossierBite; sequence: number }) {
  return (
    <>
      <p><b>Pass {bite.pass}, bite {bite.bite}</b></p>
      <Facts facts={bite.facts} />
      {bite.rows.length > 0 && (
        <ForcePlot envelope={bite.envelope} target_kn={bite.target_kn} rows={bite.rows} changed={0} whole_die={bite.whole_die}
          label={`Force against gap, record entry ${sequence}`} />
      )}
    </>
  );
}

function Facts({ facts }: { facts: readonly Fact[] }) {
  return (
    <dl class="entry-facts">
      {facts.map((fact) => <div key={fact.name}><dt>{words(fact.name)}</dt><dd>{fact.value}</dd></div>)}
    </dl>
  );
}
