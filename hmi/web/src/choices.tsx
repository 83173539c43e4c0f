// Evidence that is a choice and not a number: limit gauges and the look of the surface. Chosen first, then recorded,
// so that one touch of a glove never makes evidence. The buttons are neutral: neither answer is coaxed.
import { useState } from "preact/hooks";
import type { EvidenceBody } from "./api";
import { t } from "./messages";

interface Option { result: string; label: string; detail: string }

/** The gauge's question is the step's own text; here are its two plain answers. */
const limit_options = (): readonly Option[] => [
  { result: "passes", label: t("operator.yes_passes"), detail: t("operator.yes_passes_detail") },
  { result: "stops", label: t("operator.no_stops"), detail: t("operator.no_stops_detail") },
];

const surface_options = (): readonly Option[] => [
  { result: "sound", label: t("operator.sound"), detail: t("operator.sound_detail") },
  { result: "cracked", label: t("operator.cracked"), detail: t("operator.cracked_detail") },
  { result: "lapped", label: t("operator.lapped"), detail: t("operator.lapped_detail") },
  { result: "wires_broken", label: t("operator.wires_broken"), detail: t("operator.wires_broken_detail") },
];

export function ChoiceForm(props: { input: string; busy: boolean; onRecord: (body: EvidenceBody) => void }) {
  const [chosen, setChosen] = useState("");
  const options = props.input === "surface" ? surface_options() : limit_options();
  return (
    <form
      class="choices"
      onSubmit={(event) => {
        event.preventDefault();
        if (chosen !== "" && !props.busy) props.onRecord({ kind: props.input, result: chosen });
      }}
    >
      <div class="choice-grid" role="group" aria-label={t("operator.what_was_seen")}>
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
      <button type="submit" class="button primary record" disabled={chosen === "" || props.busy}>{t("operator.record")}</button>
      <p class="hint" role="status">{chosen === "" ? t("operator.still_wanted", { list: t("operator.your_choice") }) : t("operator.ready_to_record")}</p>
    </form>
  );
}
