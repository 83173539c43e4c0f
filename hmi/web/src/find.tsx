// Find a fitting by whatever one has in hand: one box, what was understood told back, and every fitting that fits.
import { useEffect, useState } from "preact/hooks";
import { address, api, type FittingRow, type Reading } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { many, t } from "./messages";
import { RecordIntegrity } from "./review_integrity";
import { NearSerials, ReadingTold } from "./review_reading";
import { ReviewTable, type TablePlace } from "./review_table";
import { address_of, go_to } from "./routes";
import { TextPad } from "./text_pad";

const page_size = 200;

interface Found { rows: FittingRow[]; next_after: string | null; reading: Reading | null; near: string[] }
const nothing: Found = { rows: [], next_after: null, reading: null, near: [] };

/** What was found last, so that going back from a dossier finds the list as it was left. */
let kept: { asked: string; found: Found; place: TablePlace } | null = null;

export function FindView({ path = [] }: { path?: readonly string[] }) {
  const asked = path[0] ?? "";
  const back = kept !== null && kept.asked === asked ? kept : null;
  const [text, setText] = useState(asked);
  const [found, setFound] = useState<Found>(back?.found ?? nothing);
  const [busy, setBusy] = useState(false);
  const [answered, setAnswered] = useState(back !== null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  const ask = async (after: string | null, wanted: () => boolean) => {
    setBusy(true);
    setTrouble(null);
    const query = new URLSearchParams({ ask: asked, limit: String(page_size) });
    if (after !== null) query.set("after", after);
    const outcome = await api.find(query);
    if (!wanted()) return;
    setBusy(false);
    setAnswered(true);
    if (outcome.kind !== "taken") {
      setTrouble(outcome);
      if (after === null) setFound(nothing);
      return;
    }
    const { fittings, next_after, reading, near } = outcome.body;
    setFound((before) => ({ rows: after === null ? fittings : [...before.rows, ...fittings], next_after, reading: reading ?? null, near: near ?? [] }));
    // A serial that was scanned or typed whole is wanted, not a list of one.
    if (after === null && scanned === asked && reading?.parts.length === 1 && reading.parts[0]?.as === "serial" && fittings.length === 1)
      go_to({ view: "fitting", serial: reading.parts[0].value });
    scanned = null;
  };
  useEffect(() => {
    setText(asked);
    if (back !== null) return;
    let wanted = true;
    void ask(null, () => wanted);
    return () => { wanted = false; };
  }, [asked]);
  const place: TablePlace = back?.place ?? { top_px: 0, at: 0 };
  useEffect(() => { if (answered) kept = { asked, found, place }; }, [found, answered]);
  const keep_place = (left_at: TablePlace) => { if (kept?.asked === asked) kept.place = left_at; };

  const submit = () => {
    scanned = text.trim();
    if (scanned === asked) void ask(null, () => true);
    else go_to({ view: "find", path: scanned === "" ? [] : [scanned] });
  };
  const whole = found.next_after === null;
  return (
    <main class="find">
      <section class="card find-box">
        <h2>{t("reviewer.find_fittings")}</h2>
        <form class="ask-form" role="search" onSubmit={(event) => { event.preventDefault(); submit(); }}>
          <TextPad label={t("reviewer.ask_label")} value={text} onChange={setText} name="ask" />
          <button type="submit" class="button primary">{t("reviewer.find")}</button>
        </form>
        <p class="hint examples">
          {t("reviewer.for_example")}{" "}
          {["held", "caliper-1 2026-11", "SW-0001", "accepted rope_not_home"].map((example) => (
            <a class="example" key={example} href={address_of({ view: "find", path: [example] })}>{example}</a>
          ))}
        </p>
        <TroubleBox trouble={trouble} />
        {found.reading !== null && <ReadingTold reading={found.reading} />}
        {answered && !busy && trouble === null && found.rows.length === 0 && <NearSerials reading={found.reading} near={found.near} />}
        <div class="found-line">
          <p class="hint" role="status">
            {busy && found.rows.length === 0 ? t("reviewer.asking") : answered && trouble === null && found.rows.length > 0
              ? whole ? many(found.rows.length, "reviewer.one_found", "reviewer.some_found") : t("reviewer.more_found", { count: found.rows.length }) : ""}
          </p>
          {found.rows.length > 0 && (
            <p class="button-row">
              <a class="button" download href={address.export_of("csv", asked)}>{t("reviewer.save_csv")}</a>
              <a class="button" download href={address.export_of("json", asked)}>{t("reviewer.save_json")}</a>
            </p>
          )}
        </div>
      </section>
      {found.rows.length > 0 && (
        <ReviewTable key={asked} rows={found.rows} whole={whole} busy={busy} place={place} onPlace={keep_place} onMore={() => void ask(found.next_after, () => true)} />
      )}
      <RecordIntegrity />
    </main>
  );
}

/** The text that was sent off by hand, and not by a link or by going back. */
let scanned: string | null = null;

/** "2026-03-01 14:05:09" in this device's time zone; the text as given when it is no time. */
export function local_time(utc: string): string {
  const time = new Date(utc);
  if (Number.isNaN(time.getTime())) return utc;
  const two = (value: number) => String(value).padStart(2, "0");
  return `${time.getFullYear()}-${two(time.getMonth() + 1)}-${two(time.getDate())} ` +
    `${two(time.getHours())}:${two(time.getMinutes())}:${two(time.getSeconds())}`;
}
