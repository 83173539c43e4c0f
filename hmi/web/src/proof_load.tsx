// A pull on the finished terminal: load, time and slip, each with its unit.
import { useState } from "preact/hooks";
import type { EvidenceBody, Gauge } from "./api";
import { GaugeChoice, fitting_gauges, last_gauge } from "./gauge_choice";
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
      <TextPad label="Load, with its unit (12.1 kN)" value={load} onChange={setLoad} />
      <TextPad label="Time held, with its unit (180 s)" value={held} onChange={setHeld} />
      <TextPad label="Slip of the rope, with its unit (0.1 mm)" value={slip} onChange={setSlip} />
      <button type="submit" class="button primary record" disabled={props.busy || !ready}>Record the proof load</button>
    </form>
  );
}
