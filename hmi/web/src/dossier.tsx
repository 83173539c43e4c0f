// Every entry of one fitting in order, with the trace of each bite. The dossier is read as it comes: what this page does
// not know it still shows, as name and value.
import type { Fitting, SampleRow } from "./api";
import { local_time } from "./find";
import { FindingList } from "./findings";
import { ForcePlot } from "./force_plot";
import { sentence, words } from "./kinds";
import { read_dossier, type DossierEntry } from "./dossier_reading";

export function Dossier({ dossier, fitting }: { dossier: unknown; fitting: Fitting }) {
  const entries = read_dossier(dossier);
  if (dossier === null) return <p class="hint">Asking the record for the dossier.</p>;
  return (
    <section class="dossier">
      <h3>Record, {entries.length} {entries.length === 1 ? "entry" : "entries"}</h3>
      <ol>{entries.map((entry) => <Entry key={entry.sequence} entry={entry} fitting={fitting} />)}</ol>
    </section>
  );
}

function Entry({ entry, fitting }: { entry: DossierEntry; fitting: Fitting }) {
  return (
    <li class={`entry entry-${entry.kind}`}>
      <p class="entry-head">
        <span class="entry-number">{entry.sequence}</span>
        <b>{sentence(entry.event)}</b>
        <span class={`entry-kind kind-${entry.kind}`}>{words(entry.kind)}</span>
        <span>{local_time(entry.at_utc)}</span>
        <span>{entry.actor}</span>
      </p>
      {entry.findings.length > 0 && <FindingList findings={entry.findings} />}
      {entry.facts.length > 0 && (
        <dl class="entry-facts">
          {entry.facts.map((fact) => <div key={fact.name}><dt>{words(fact.name)}</dt><dd>{fact.value}</dd></div>)}
        </dl>
      )}
      {entry.trace.length > 0 && <Trace rows={entry.trace} fitting={fitting} entry={entry} />}
    </li>
  );
}

function Trace({ rows, fitting, entry }: { rows: SampleRow[]; fitting: Fitting; entry: DossierEntry }) {
  return (
    <ForcePlot envelope={entry.envelope.length > 0 ? entry.envelope : fitting.envelope} target_kn={fitting.target_force_kn} rows={rows}
      changed={0} height={240} label={`Force against gap, entry ${entry.sequence}`} />
  );
}
