// The press at a glance. Grey while all is as it should be; a colour and a shape where it is not. Old data is struck
// through and named old, never left standing as if it were the press now.
import { useState } from "preact/hooks";
import { api, type Outcome, type Press } from "./api";
import { words } from "./kinds";
import { t } from "./messages";
import { Sign, type Meaning } from "./signs";
import { fault_words } from "./station_words";
import { fixed, force_text, gap_text, useLengthUnit } from "./units";

interface Tile { id: string; name: string; text: string; meaning: Meaning }

const link_key = {
  connected: "common.link_connected", stale: "common.link_stale", lost: "common.link_lost", never_connected: "common.link_never_connected",
} as const;
const phase_key = {
  stopped: "common.phase_stopped", open: "common.phase_open", permitted: "common.phase_permitted", closing: "common.phase_closing",
  holding: "common.phase_holding", opening: "common.phase_opening", faulted: "common.phase_faulted",
} as const;

function phase_text(phase: string): string {
  const key = (phase_key as Partial<Record<string, (typeof phase_key)[keyof typeof phase_key]>>)[phase];
  return key === undefined ? words(phase) : t(key);
}

function tiles(press: Press, gap: string): Tile[] {
  const fine = (ok: boolean, otherwise: Meaning): Meaning => (ok ? "neutral" : otherwise);
  return [
    { id: "Link", name: t("common.tile_link"), text: t(link_key[press.link]), meaning: fine(press.link === "connected", "abnormal") },
    { id: "Press", name: t("common.tile_press"), text: phase_text(press.phase), meaning: fine(press.phase !== "faulted" && press.phase !== "stopped", "abnormal") },
    { id: "E-stop circuit", name: t("common.tile_emergency"), text: press.emergency_circuit_healthy ? t("common.emergency_healthy") : t("common.emergency_open"), meaning: fine(press.emergency_circuit_healthy, "danger") },
    { id: "Guard", name: t("common.tile_guard"), text: press.guard_closed ? t("common.guard_closed") : t("common.guard_open"), meaning: fine(press.guard_closed, "abnormal") },
    { id: "Selector", name: t("common.tile_selector"), text: press.remote_selected ? t("common.selector_remote") : t("common.selector_local"), meaning: fine(press.remote_selected, "abnormal") },
    { id: "Die pair tag", name: t("common.tile_die_tag"), text: press.die_tag === 0 ? t("common.die_tag_none") : String(press.die_tag), meaning: fine(press.die_tag !== 0, "abnormal") },
    { id: "Shank", name: t("common.tile_shank"), text: press.shank_present ? t("common.shank_in") : t("common.shank_out"), meaning: "neutral" },
    { id: "Pressure", name: t("common.tile_pressure"), text: `${fixed(press.pressure_bar, 0)} bar`, meaning: "neutral" },
    { id: "Force", name: t("common.tile_force"), text: force_text(press.force_kn), meaning: "neutral" },
    { id: "Gap", name: t("common.tile_gap"), text: gap, meaning: "neutral" },
    { id: "Oil", name: t("common.tile_oil"), text: `${fixed(press.oil_temperature_c, 0)} °C`, meaning: "neutral" },
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
    <section class={`strip${old ? " old" : ""}`} aria-label={t("common.the_press")} data-old={old}>
      {old && !stale && (
        <p class="strip-old" role="alert">
          <Sign meaning="abnormal" />
          <span><b>{t("common.old_press_picture")}</b> {press.link === "connected" ? t("common.press_late") : t("common.press_link", { state: t(link_key[press.link]) })}{press.link_problem !== "" && `. ${press.link_problem}`}.</span>
        </p>
      )}
      {faulted && !old && (
        <p class="strip-old" role="alert"><Sign meaning="abnormal" /><span><b>{t("common.press_fault", { code: press.fault_code })}</b> {fault_words(press)}.</span></p>
      )}
      <dl class="tiles" tabIndex={0}>
        {tiles(press, gap).map((tile) => (
          <div class={`tile tile-${old ? "neutral" : tile.meaning}`} key={tile.id} data-tile={tile.id}>
            <dt>{tile.name}</dt>
            <dd>{!old && tile.meaning !== "neutral" && <Sign meaning={tile.meaning} size={18} />}<span>{tile.text}</span></dd>
          </div>
        ))}
      </dl>
      {props.signed_in && (faulted || moving) && !["wait_for_dies", "clear_fault"].includes(props.step) && (
        <div class="button-row strip-buttons">
          {faulted && <button type="button" class="button" disabled={busy} onClick={() => void order("clear-fault")}>{t("common.clear_fault")}</button>}
          {moving && <button type="button" class="button" disabled={busy} onClick={() => void order("open-dies")}>{t("common.open_dies")}</button>}
        </div>
      )}
      {props.signed_in && !props.fitting_open && press.dies_home && !faulted && !old && Math.abs(press.pressure_bar) >= 1 && (
        <div class="button-row strip-buttons">
          <button type="button" class="button" disabled={busy} onClick={() => void order("zero-pressure")}>{t("common.zero_pressure")}</button>
        </div>
      )}
    </section>
  );
}
