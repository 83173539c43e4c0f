// A pull on the finished terminal: load, time and slip, each with its unit.
import { useState } from "preact/hooks";
import type { EvidenceBody, Gauge } from "./api";
import { GaugeChoice, fitting_gauges, last_gauge } from "./gauge_choice";
import { t } from "./messages";
import { TextPad } from "./text_pad";

export function ProofLoad(props: { gauges: readonly Gauge[]; busy: boolean; onRecord: (body: EvidenceBody) => void }) {
  const cells = fitting_gauges(props.gauges, ["load_cell"]);
  const [gauge, setGauge] = useState(last_gauge("proof_load", cells));
  const [load, setLoad] = useState("");
  const [held, setHeld] = useState("");
  const [slip, setSlip] = useState("");
  const ready = gauge !== "" && [load, held, slip].every((text) => text.trim() !== "");
  return (
    <form
      class="disposition"
      onSubmit={(event) => {
        event.preventDefault();
        if (ready) props.onRecord({ kind: "proof_load", gauge, load: load.trim(), held: held.trim(), slip: slip.trim() });
      }}
    >
      <GaugeChoice evidence_kind="proof_load" gauges={cells} chosen={gauge} onChoose={setGauge} />
      <TextPad label={t("reviewer.proof_load")} value={load} onChange={setLoad} lower />
      <TextPad label={t("reviewer.proof_held")} value={held} onChange={setHeld} lower />
      <TextPad label={t("reviewer.proof_slip")} value={slip} onChange={setSlip} lower />
      <button type="submit" class="button primary record" disabled={props.busy || !ready}>{t("reviewer.record_proof_load")}</button>
    </form>
  );
}
