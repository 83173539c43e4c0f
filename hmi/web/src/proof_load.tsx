// A pull on the finished terminal: load, time held and slip, by keys large enough for gloves, with what the recipe asks
// for in view. Nothing is filled in beforehand.
import { useRef, useState } from "preact/hooks";
import type { EvidenceBody, Gauge, Proof } from "./api";
import { GaugeChoice, fitting_gauges, last_gauge } from "./gauge_choice";
import { recall, remember } from "./memory";
import { lower_in_english, t } from "./messages";
import { NumberPad, typed, type PadKey } from "./number_pad";
import { fixed, length, useLengthUnit, with_unit } from "./units";

type LoadUnit = "kN" | "lbf";
// One pound-force is 4.448 221 615 260 5 N exactly (NIST SP 811, Appendix B.9).
const kn_per_lbf = 4.448_221_615_260_5e-3;
const load_text = (load_kn: number, unit: LoadUnit) => (unit === "kN" ? `${fixed(load_kn, 2)} kN` : `${fixed(load_kn / kn_per_lbf, 0)} lbf`);
const names = ["load", "held", "slip"] as const;

export function ProofLoad(props: { proof: Proof; gauges: readonly Gauge[]; busy: boolean; onRecord: (body: EvidenceBody) => void }) {
  const cells = fitting_gauges(props.gauges, ["load_cell"]);
  const length_unit = useLengthUnit();
  const [gauge, setGauge] = useState(last_gauge("proof_load", cells));
  const [load_unit, setLoadUnit] = useState<LoadUnit>(recall("load_unit") === "lbf" ? "lbf" : "kN");
  const [texts, setTexts] = useState(["", "", ""]);
  const [active, setActive] = useState(0);
  const inputs = useRef<(HTMLInputElement | null)[]>([]);
  const units = [load_unit, "s", length_unit];
  const words = [t("operator.proof_load"), t("operator.proof_held"), t("operator.proof_slip")];
  const set_text = (index: number, text: string) => setTexts((before) => before.map((old, at) => (at === index ? text : old)));
  const go_to = (index: number) => { setActive(index); inputs.current[index]?.focus({ preventScroll: true }); };
  const on_key = (key: PadKey) => {
    if (key === "next") go_to((active + 1) % names.length);
    else set_text(active, typed(texts[active] ?? "", key));
  };
  const choose_unit = (unit: LoadUnit) => { remember("load_unit", unit); setLoadUnit(unit); };
  const missing = words.filter((_, at) => (texts[at] ?? "").trim() === "").map(lower_in_english);
  if (gauge === "") missing.push(t("operator.the_gauge"));
  const record = () => {
    if (props.busy || missing.length > 0) return;
    const [load, held, slip] = texts.map((text, at) => with_unit(text, at === 2 ? "mm" : (units[at] ?? ""), length_unit)) as [string, string, string];
    props.onRecord({ kind: "proof_load", gauge, load, held, slip });
  };
  const { asked } = props.proof;
  return (
    <form class="readings proof-load" onSubmit={(event) => { event.preventDefault(); record(); }}>
      <div class="readings-values">
        <div class="cells">
          {names.map((name, at) => (
            <label key={name} class={`cell${at === active ? " active" : ""}`}>
              <span class="cell-name">{words[at]}</span>
              <input ref={(element) => { inputs.current[at] = element; }} type="text" inputMode="none" autocomplete="off" spellcheck={false} name={name}
                aria-label={t("operator.in_unit", { name: words[at] ?? "", unit: units[at] ?? "" })} value={texts[at] ?? ""}
                onFocus={() => setActive(at)} onInput={(event) => set_text(at, event.currentTarget.value)} />
              <span class="cell-unit">{units[at]}</span>
            </label>
          ))}
        </div>
        <fieldset class="gauges">
          <legend>{t("operator.load_cell_reads")}</legend>
          <div class="choice-row">
            {(["kN", "lbf"] as const).map((unit) => (
              <button type="button" key={unit} class="choice" aria-pressed={unit === load_unit} onClick={() => choose_unit(unit)}>{unit}</button>
            ))}
          </div>
        </fieldset>
        <GaugeChoice evidence_kind="proof_load" gauges={cells} chosen={gauge} onChoose={setGauge} />
      </div>
      <div class="readings-pad">
        <p class="limits">
          {asked === null ? t("operator.proof_nothing_asked") : (
            <>{t("operator.accepted")} <b>{t("operator.proof_asked", {
              load: load_text(asked.load_kn, load_unit), held: fixed(asked.hold_s, 0), slip: length(asked.slip_mm_max, length_unit) })}</b></>
          )}
        </p>
        <NumberPad onKey={on_key} several />
        <button type="submit" class="button primary record" disabled={props.busy || missing.length > 0}>{t("operator.record_proof")}</button>
        <p class="hint" role="status">{missing.length > 0 ? t("operator.still_wanted", { list: missing.join(", ") }) : t("operator.ready_to_record")}</p>
      </div>
    </form>
  );
}
