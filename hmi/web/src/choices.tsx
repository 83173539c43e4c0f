// Evidence that is a choice and not a number: limit gauges and the look of the surface. Chosen first, then recorded,
// so that one touch of a glove never makes evidence. The buttons are neutral: neither answer is coaxed.
import { useState } from "preact/hooks";
import type { EvidenceBody } from "./api";

interface Option { result: string; label: string; detail: string }

const limit_options: readonly Option[] = [
  { result: "passes", label: "It passes", detail: "The gauge goes over the shank" },
  { result: "stops", label: "It stops", detail: "The gauge does not go over the shank" },
];

const surface_options: readonly Option[] = [
  { result: "sound", label: "Sound", detail: "No crack, no lap, no broken wire" },
  { result: "cracked", label: "Cracked", detail: "A crack anywhere on the shank" },
  { result: "lapped", label: "Lapped", detail: "A fold of metal along the parting line" },
  { result: "wires_broken", label: "Wires broken", detail: "A broken wire at the mouth" },
];

export function ChoiceForm(props: { input: string; busy: boolean; onRecord: (body: EvidenceBody) => void }) {
  const [chosen, setChosen] = useState("");
  const options = props.input === "surface" ? surface_options : limit_options;
  return (
    <form
      class="choices"
      onSubmit={(event) => {
        event.preventDefault();
        if (chosen !== "" && !props.busy) props.onRecord({ kind: props.input, result: chosen });
      }}
    >
      <div class="choice-grid" role="group" aria-label="What was seen">
        {options.map((option) => (
          <button
            type="button"
            key={option.result}
            class="choice big"
            data-result={option.result}
            aria-pressed={chosen === option.result}
            onClick={() => setChosen(option.result)}
          >
            <span>{option.label}</span>
            <small>{option.detail}</small>
          </button>
        ))}
      </div>
      <button type="submit" class="button primary record" disabled={chosen === "" || props.busy}>Record</button>
      <p class="hint" role="status">{chosen === "" ? "Still wanted: your choice" : "Ready to record"}</p>
    </form>
  );
}
