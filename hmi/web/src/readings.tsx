// The form for measured values: one reading, several, or across flats at several stations over three pairs of flats.
// Nothing is ever filled in beforehand, limits stay in view, and a value outside them is said before it is recorded.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Band, EvidenceBody, Gauge, Next } from "./api";
import { fitting_gauges, GaugeChoice, last_gauge } from "./gauge_choice";
import { kind_of, type Kind } from "./kinds";
import { lower_in_english, t } from "./messages";
import { NumberPad, typed, type PadKey } from "./number_pad";
import { fixed, in_station_unit, length, length_band, useLengthUnit, with_unit, written_unit, type LengthUnit } from "./units";

const pairs_of_flats = 3;

interface FormProps {
  next: Next;
  gauges: readonly Gauge[];
  busy: boolean;
  onRecord: (body: EvidenceBody) => void;
  onDraft?: (draft: Draft | null) => void; ///< what is being typed, for the drawing
}

/** A reading as it is being typed, in the station's unit: the mean where several are given. Nothing of it is evidence. */
export interface Draft { input: string; value: number; outside: boolean }

/** One cell per reading; across flats in whole rows of three pairs of flats. */
export function cells_wanted(next: Next): number {
  const readings = Math.max(1, next.readings);
  return next.input === "across_flats" ? Math.ceil(readings / pairs_of_flats) * pairs_of_flats : readings;
}

function cell_name(kind: Kind, input: string, index: number, count: number): string {
  if (input === "across_flats") {
    return t("operator.station_flats", { station: Math.floor(index / pairs_of_flats) + 1, flats: (index % pairs_of_flats) + 1 });
  }
  return count === 1 ? kind.label : t("operator.reading_number", { number: index + 1 });
}

type Side = "+" | "-" | null;

/** The reading with the chosen side as its sign. */
function signed_text(text: string, side: Side): string {
  return side === "-" && text.trim() !== "" ? `-${text.trim()}` : text;
}

export function ReadingsForm({ next, gauges, busy, onRecord, onDraft }: FormProps) {
  const kind = kind_of(next.input);
  const unit = useLengthUnit();
  const count = cells_wanted(next);
  const offered = fitting_gauges(gauges, kind.gauges);
  const [texts, setTexts] = useState<string[]>(() => new Array<string>(count).fill(""));
  const [active, setActive] = useState(0);
  const [side, setSide] = useState<Side>(null);
  const [gauge, setGauge] = useState(() => last_gauge(next.input, offered));
  const inputs = useRef<(HTMLInputElement | null)[]>([]);
  const record_button = useRef<HTMLButtonElement>(null);

  useEffect(() => { inputs.current[0]?.focus({ preventScroll: true }); }, []);

  const set_text = (index: number, written: string) => {
    // A sign that is typed says the side too; the two can then never contradict each other.
    const sign = kind.signed ? /^\s*([+\-−])/.exec(written)?.[1] : undefined;
    if (sign !== undefined) setSide(sign === "+" ? "+" : "-");
    const text = sign === undefined ? written : written.replace(/^\s*[+\-−]/, "");
    setTexts((before) => before.map((old, at) => (at === index ? text : old)));
  };
  const go_to = (index: number) => {
    if (index < count) {
      setActive(index);
      inputs.current[index]?.focus({ preventScroll: true });
    } else {
      record_button.current?.focus({ preventScroll: true });
    }
  };
  const on_key = (key: PadKey) => {
    if (key === "next") go_to(active + 1 < count ? active + 1 : 0);
    else set_text(active, typed(texts[active] ?? "", key));
  };

  const sent = texts.map((text) => signed_text(text, kind.signed ? side : null));
  const values = sent.map((text) => in_station_unit(text.replace(",", "."), next.unit, unit));
  const has_limits = next.least < next.most;
  const band: Band = { least: next.least, most: next.most };
  const side_wanted = kind.signed !== undefined && side === null &&
    texts.some((text, at) => text.trim() !== "" && values[at] !== 0);
  const empty = texts.flatMap((text, at) => (text.trim() === "" ? [count === 1 ? t("operator.the_reading") : lower_in_english(cell_name(kind, next.input, at, count))] : []));
  const missing = empty.length > 3 ? [t("operator.some_readings", { count: empty.length })] : [...empty];
  if (side_wanted) missing.push(t("operator.the_side"));
  if (gauge === "" && kind.gauges.length > 0) missing.push(t("operator.the_gauge"));

  const typed_in = values.filter((value, at): value is number => value !== null && (texts[at] ?? "").trim() !== "");
  const draft_value = typed_in.length === 0 || side_wanted ? null : typed_in.reduce((sum, value) => sum + value, 0) / typed_in.length;
  const draft_outside = has_limits && typed_in.some((value) => value < band.least || value > band.most);
  useEffect(() => {
    onDraft?.(draft_value === null ? null : { input: next.input, value: draft_value, outside: draft_outside });
  }, [draft_value, draft_outside]);
  useEffect(() => () => onDraft?.(null), []);

  const record = () => {
    if (busy || missing.length > 0) return;
    const quantities = sent.map((text) => with_unit(text, next.unit, unit));
    const body: EvidenceBody = { kind: next.input };
    if (gauge !== "") body.gauge = gauge;
    if (next.input === "across_flats") {
      body.stations = [];
      for (let at = 0; at < quantities.length; at += pairs_of_flats) {
        body.stations.push(quantities.slice(at, at + pairs_of_flats));
      }
    } else {
      body.values = quantities;
    }
    onRecord(body);
  };

  const cell = (index: number) => {
    const value = values[index] ?? null;
    const outside = has_limits && value !== null && texts[index] !== "" && (value < band.least || value > band.most);
    return (
      <label key={index} class={`cell${index === active ? " active" : ""}${outside ? " outside" : ""}`}>
        <span class="cell-name">{next.input === "across_flats" ? "" : cell_name(kind, next.input, index, count)}</span>
        <input
          ref={(element) => { inputs.current[index] = element; }}
          type="text"
          inputMode="none"
          autocomplete="off"
          spellcheck={false}
          aria-label={t("operator.in_unit", { name: cell_name(kind, next.input, index, count), unit: written_unit(next.unit, unit) })}
          value={texts[index] ?? ""}
          onFocus={() => setActive(index)}
          onInput={(event) => set_text(index, event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key !== "Enter") return;
            event.preventDefault();
            go_to(index + 1);
          }}
        />
        <span class="cell-unit">{written_unit(next.unit, unit)}</span>
      </label>
    );
  };

  return (
    <form class="readings" onSubmit={(event) => { event.preventDefault(); record(); }}>
      <div class="readings-values">
        {next.input === "across_flats" ? <FlatsGrid count={count} unit={unit} cell={cell} /> : (
          <div class="cells">{texts.map((_, index) => cell(index))}</div>
        )}
        {kind.signed && (
          <fieldset class="sides">
            <legend>{kind.signed.question}</legend>
            <div class="choice-row">
              <button type="button" class="choice" aria-pressed={side === "+"} onClick={() => setSide("+")}>{kind.signed.plus}</button>
              <button type="button" class="choice" aria-pressed={side === "-"} onClick={() => setSide("-")}>{kind.signed.minus}</button>
            </div>
          </fieldset>
        )}
        {kind.gauges.length > 0 && (
          <GaugeChoice evidence_kind={next.input} gauges={offered} chosen={gauge} onChoose={setGauge} />
        )}
        <OutsideNote values={values} texts={texts} band={band} has_limits={has_limits} next={next} unit={unit} decimals={kind.decimals_mm} />
      </div>
      <div class="readings-pad">
        <p class="limits">
          {has_limits ? <>{t("operator.accepted")} <b>{limits_text(next, unit, kind.decimals_mm)}</b></> : <>{t("operator.no_limit")}</>}
        </p>
        <NumberPad onKey={on_key} several={count > 1} />
        <button ref={record_button} type="submit" class="button primary record" disabled={busy || missing.length > 0}>
          {t("operator.record")}
        </button>
        <p class="hint" role="status">{missing.length > 0 ? t("operator.still_wanted", { list: missing.join(", ") }) : t("operator.ready_to_record")}</p>
      </div>
    </form>
  );
}

function limits_text(next: Next, unit: LengthUnit, decimals: number): string {
  if (next.unit === "mm") return length_band(next, unit, decimals);
  return `${t("common.band", { least: fixed(next.least, 1), most: fixed(next.most, 1) })} ${next.unit}`;
}

function FlatsGrid({ count, unit, cell }: { count: number; unit: string; cell: (index: number) => preact.JSX.Element }) {
  const stations = Array.from({ length: count / pairs_of_flats }, (_, at) => at);
  return (
    <table class="flats">
      <thead>
        <tr><th scope="col">{t("operator.station")}</th>{[1, 2, 3].map((pair) => <th scope="col" key={pair}>{t("operator.flats_column", { number: pair, unit })}</th>)}</tr>
      </thead>
      <tbody>
        {stations.map((station) => (
          <tr key={station}>
            <th scope="row">{station + 1}</th>
            {[0, 1, 2].map((pair) => <td key={pair}>{cell(station * pairs_of_flats + pair)}</td>)}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Says before recording that a value lies outside, by how much, and whether the other unit would explain it. */
function OutsideNote(props: {
  values: (number | null)[];
  texts: string[];
  band: Band;
  has_limits: boolean;
  next: Next;
  unit: LengthUnit;
  decimals: number;
}) {
  const { values, texts, band, has_limits, next, unit, decimals } = props;
  if (!has_limits) return null;
  let worst = 0;
  let worst_value = 0;
  values.forEach((value, at) => {
    if (value === null || texts[at] === "") return;
    const out = value > band.most ? value - band.most : value < band.least ? value - band.least : 0;
    if (Math.abs(out) > Math.abs(worst)) { worst = out; worst_value = value; }
  });
  if (worst === 0) return null;
  const show = (amount: number) => next.unit === "mm" ? length(amount, unit, decimals) : `${fixed(amount, 1)} ${next.unit}`;
  const inside = (value: number) => value >= band.least && value <= band.most;
  const other_unit = next.unit === "mm" && inside(unit === "in" ? worst_value / 25.4 : worst_value * 25.4);
  return (
    <p class="outside-note" role="status">
      {worst > 0 ? t("operator.above_limit", { amount: show(Math.abs(worst)) }) : t("operator.below_limit", { amount: show(Math.abs(worst)) })}{" "}
      {!other_unit ? t("operator.read_again") : unit === "in" ? t("operator.is_it_mm") : t("operator.is_it_inches")}
    </p>
  );
}
