// The press at a glance. Grey while all is as it should be; a colour and a shape where it is not. Old data is struck
// through and named old, never left standing as if it were the press now.
import { useState } from "preact/hooks";
import { api, type Outcome, type Press } from "./api";
import { words } from "./kinds";
import { Sign, type Meaning } from "./signs";
import { fixed, force_text, gap_text, useLengthUnit } from "./units";

interface Tile { name: string; text: string; meaning: Meaning }

const link_text: Record<Press["link"], string> = {
  connected: "Connected", stale: "Not answering", lost: "Lost", never_connected: "Never connected",
};
const phase_text: Record<string, string> = {
  stopped: "Stopped", open: "Open", permitted: "Permitted", closing: "Closing", holding: "Holding", opening: "Opening",
  faulted: "Faulted",
};

function tiles(press: Press, gap: string): Tile[] {
  const fine = (ok: boolean, otherwise: Meaning): Meaning => (ok ? "neutral" : otherwise);
  return [
    { name: "Link", text: link_text[press.link] ?? press.link, meaning: fine(press.link === "connected", "abnormal") },
    { name: "Press", text: phase_text[press.phase] ?? words(press.phase), meaning: fine(press.phase !== "faulted" && press.phase !== "stopped", "abnormal") },
    { name: "E-stop circuit", text: press.emergency_circuit_healthy ? "Healthy" : "Open", meaning: fine(press.emergency_circuit_healthy, "danger") },
    { name: "Guard", text: press.guard_closed ? "Closed" : "Open", meaning: fine(press.guard_closed, "abnormal") },
    { name: "Control", text: press.remote_selected ? "Remote" : "Local", meaning: fine(press.remote_selected, "abnormal") },
    { name: "Die pair tag", text: press.die_tag === 0 ? "None" : String(press.die_tag), meaning: fine(press.die_tag !== 0, "abnormal") },
    { name: "Shank", text: press.shank_present ? "In the dies" : "Not in", meaning: "neutral" },
    { name: "Pressure", text: `${fixed(press.pressure_bar, 0)} bar`, meaning: "neutral" },
    { name: "Force", text: force_text(press.force_kn), meaning: "neutral" },
    { name: "Gap", text: gap, meaning: "neutral" },
    { name: "Oil", text: `${fixed(press.oil_temperature_c, 0)} °C`, meaning: "neutral" },
  ];
}

export function PressStrip(props: {
  press: Press;
  stale: boolean;
  signed_in: boolean;
  fitting_open: boolean;
  step: string;              ///< code of the next action, "" without a fitting; some steps carry these buttons themselves
  onAnswer: (outcome: Outcome<unknown>) => void;
}) {
  const { press, stale } = props;
  const unit = useLengthUnit();
  const [busy, setBusy] = useState(false);
  const order = async (what: "open-dies" | "clear-fault" | "zero-pressure") => {
    setBusy(true);
    const outcome = await api.press(what);
    setBusy(false);
    props.onAnswer(outcome);
  };
  const old = stale || !press.fresh;
  const gap = gap_text(press.gap_mm, unit);
  const faulted = press.fault_code !== 0 || press.phase === "faulted";
  const moving = ["closing", "holding", "opening", "faulted"].includes(press.phase) && !press.dies_home;
  return (
    <section class={`strip${old ? " old" : ""}`} aria-label="The press" data-old={old}>
      {old && !stale && (
        <p class="strip-old" role="alert">
          <Sign meaning="abnormal" />
          <span><b>Old picture of the press.</b> {press.link === "connected" ? "It has not answered in time" : `Link: ${link_text[press.link].toLowerCase()}`}{press.link_problem !== "" && `. ${press.link_problem}`}.</span>
        </p>
      )}
      {faulted && !old && (
        <p class="strip-old" role="alert"><Sign meaning="abnormal" /><span><b>Press fault {press.fault_code}:</b> {words(press.fault)}.</span></p>
      )}
      <dl class="tiles">
        {tiles(press, gap).map((tile) => (
          <div class={`tile tile-${old ? "neutral" : tile.meaning}`} key={tile.name} data-tile={tile.name}>
            <dt>{tile.name}</dt>
            <dd>{!old && tile.meaning !== "neutral" && <Sign meaning={tile.meaning} size={18} />}<span>{tile.text}</span></dd>
          </div>
        ))}
      </dl>
      {props.signed_in && (faulted || moving) && !["wait_for_dies", "clear_fault"].includes(props.step) && (
        <div class="button-row strip-buttons">
          {faulted && <button type="button" class="button" disabled={busy} onClick={() => void order("clear-fault")}>Clear the fault</button>}
          {moving && <button type="button" class="button" disabled={busy} onClick={() => void order("open-dies")}>Open the dies</button>}
        </div>
      )}
      {props.signed_in && !props.fitting_open && press.dies_home && !faulted && !old && Math.abs(press.pressure_bar) >= 1 && (
        <div class="button-row strip-buttons">
          <button type="button" class="button" disabled={busy} onClick={() => void order("zero-pressure")}>Zero the pressure</button>
        </div>
      )}
    </section>
  );
}
