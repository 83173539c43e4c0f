// Find a fitting by date, verdict or serial.
import { useEffect, useState } from "preact/hooks";
import { api, type FittingRow } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { address_of } from "./routes";
import { VerdictMark } from "./verdict";

const page_size = 50;

interface Filter { from: string; until: string; verdict: string; serial_prefix: string; job: string }
const everything: Filter = { from: "", until: "", verdict: "", serial_prefix: "", job: "" };

function query_of(filter: Filter, after: string | null): URLSearchParams {
  const query = new URLSearchParams();
  for (const [name, value] of Object.entries(filter)) if (value.trim() !== "") query.set(name, value.trim());
  query.set("limit", String(page_size));
  if (after !== null) query.set("after", after);
  return query;
}

export function FindView() {
  const [filter, setFilter] = useState<Filter>(everything);
  const [rows, setRows] = useState<FittingRow[]>([]);
  const [next_after, setNextAfter] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const [asked, setAsked] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  const ask = async (after: string | null) => {
    setBusy(true);
    setTrouble(null);
    const outcome = await api.find(query_of(filter, after));
    setBusy(false);
    setAsked(true);
    if (outcome.kind !== "taken") {
      setTrouble(outcome);
      return;
    }
    setRows((before) => (after === null ? outcome.body.fittings : [...before, ...outcome.body.fittings]));
    setNextAfter(outcome.body.next_after);
  };
  useEffect(() => { void ask(null); }, []);

  const field = (name: keyof Filter, label: string, type: string) => (
    <label class="field">
      <span>{label}</span>
      <input type={type} name={name} value={filter[name]} onInput={(event) => setFilter({ ...filter, [name]: event.currentTarget.value })} />
    </label>
  );
  return (
    <main class="find card">
      <h2>Find fittings</h2>
      <form class="find-form" onSubmit={(event) => { event.preventDefault(); void ask(null); }}>
        {field("from", "Started from", "date")}
        {field("until", "Until", "date")}
        <label class="field">
          <span>Verdict</span>
          <select name="verdict" value={filter.verdict} onChange={(event) => setFilter({ ...filter, verdict: event.currentTarget.value })}>
            <option value="">Any</option>
            <option value="accepted">Accepted</option>
            <option value="re-pressed">Pressed again</option>
            <option value="scrapped">Scrapped</option>
            <option value="held">On hold</option>
            <option value="open">Open</option>
          </select>
        </label>
        {field("serial_prefix", "Serial begins with", "text")}
        {field("job", "Job", "text")}
        <button type="submit" class="button primary" disabled={busy}>Find</button>
      </form>
      <TroubleBox trouble={trouble} />
      <p class="hint" role="status">{busy ? "Asking the record." : asked ? `${rows.length}${next_after !== null ? " or more" : ""} found` : ""}</p>
      <div class="scroll">
        <table class="rows">
          <thead>
            <tr><th scope="col">Serial</th><th scope="col">Verdict</th><th scope="col">Started</th><th scope="col">Job</th><th scope="col">Recipe</th><th scope="col">Operator</th><th scope="col">Rope lot</th><th scope="col">Terminal lot</th><th scope="col">Die pair</th></tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.serial}>
                <td><a class="serial" href={address_of({ view: "fitting", serial: row.serial })}>{row.serial}</a></td>
                <td><VerdictMark stage={row.stage} verdict={row.verdict} /></td>
                <td>{local_time(row.started_utc)}</td>
                <td>{row.job}</td>
                <td>{row.recipe} rev {row.revision}</td>
                <td>{row.operator}</td>
                <td>{row.rope_lot}</td>
                <td>{row.terminal_lot}</td>
                <td>{row.die_pair}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {next_after !== null && <button type="button" class="button" disabled={busy} onClick={() => void ask(next_after)}>Show more</button>}
    </main>
  );
}

/** "2026-03-01 14:05:09" in this device's time zone; the text as given when it is no time. */
export function local_time(utc: string): string {
  const time = new Date(utc);
  if (Number.isNaN(time.getTime())) return utc;
  const two = (value: number) => String(value).padStart(2, "0");
  return `${time.getFullYear()}-${two(time.getMonth() + 1)}-${two(time.getDate())} ` +
    `${two(time.getHours())}:${two(time.getMinutes())}:${two(time.getSeconds())}`;
}
