// The one thing to do now, large, with whatever it needs: readings, a choice, a permit, both hands, a verdict.
import { useEffect, useRef } from "preact/hooks";
import type { Acting } from "./acting";
import { api, type EvidenceBody, type Fitting, type Gauge, type Person, type Press } from "./api";
import { ChoiceForm } from "./choices";
import { Disposition } from "./disposition";
import { t } from "./messages";
import { ProofLoad } from "./proof_load";
import { ReadingsForm, type Draft } from "./readings";
import { Sign, type Meaning } from "./signs";
import { next_words } from "./station_words";
import { fixed, force_text, gap_text, useLengthUnit } from "./units";
import { VerdictBanner } from "./verdict";

interface Props {
  fitting: Fitting;
  press: Press;
  stale: boolean;
  gauges: readonly Gauge[];
  person: Person | null;
  step: string;              ///< changes with every step: forms begin empty again
  acting: Acting;
  onStartAnother: () => void;
  onDraft: (draft: Draft | null) => void;
  driven_by: string;         ///< who drives the press at another screen; "" where this one may act
}

/** What the step means to the operator: blue where an action is due, yellow where something is wrong, grey while waiting. */
function meaning_of(fitting: Fitting): Meaning {
  switch (fitting.next.code) {
    case "wait_for_record":
    case "done":
    case "resume":
      return "neutral";
    case "wait_for_reviewer":
    case "clear_fault":
      return "abnormal";
    default:
      return "mandatory";
  }
}

export const has_verdict = (fitting: Fitting) => ["accepted", "released", "scrapped", "hold"].includes(fitting.stage);

export function NextAction(props: Props) {
  const { fitting, step } = props;
  const next = fitting.next;
  const section = useRef<HTMLElement>(null);
  useEffect(() => {
    // After recording far down a small screen, the new step begins above: bring its title back into view.
    if ((section.current?.getBoundingClientRect().top ?? 0) < 0) section.current?.scrollIntoView({ block: "start" });
  }, [step]);
  const meaning = props.driven_by === "" ? meaning_of(fitting) : "neutral";
  const words = next_words(fitting, props.press);
  return (
    <section ref={section} class={`next next-${meaning}`} data-next={next.code} aria-label={t("operator.now")}>
      {has_verdict(fitting) && <VerdictBanner fitting={fitting} />}
      <header class="next-head" aria-live="assertive" aria-atomic="true">
        <Sign meaning={meaning} size={44} />
        <div>
          <h2>{words.title}</h2>
          <p>{words.detail}</p>
        </div>
      </header>
      {props.driven_by === "" ? <Work key={step} {...props} /> : <Watch key={step} {...props} />}
    </section>
  );
}

function Work(props: Props) {
  const { fitting, press, stale } = props;
  const { busy, run } = props.acting;
  const serial = fitting.serial;
  const next = fitting.next;
  const record = (body: EvidenceBody) => run(api.evidence(serial, body));

  if (next.input === "go_gauge" || next.input === "no_go_gauge" || next.input === "surface") {
    return <ChoiceForm input={next.input} busy={busy} onRecord={record} />;
  }
  if ((next.input === "turn" || next.input === "reseated") && press.angle_encoder_fitted) {
    return (
      <div class="one-button">
        <BigNumber label={t("operator.encoder_angle")} text={`${fixed(press.angle_deg, 1)} deg`} />
        <button type="button" class="button primary huge" disabled={busy || stale} onClick={() => record({ kind: next.input })}>
          {t("operator.record_angle")}
        </button>
        {stale && <StaleReason />}
      </div>
    );
  }
  if (next.input === "proof_load") return <ProofLoad proof={fitting.proof} gauges={props.gauges} busy={busy} onRecord={record} />;
  if (next.input !== "") {
    return <ReadingsForm next={next} gauges={props.gauges} busy={busy} onRecord={record} onDraft={props.onDraft} />;
  }
  switch (next.code) {
    case "ask_permit":
      return (
        <div class="one-button">
          <button type="button" class="button primary huge" disabled={busy || stale} onClick={() => run(api.permit(serial))}>
            {t("operator.ask_one_bite")}
          </button>
          {stale ? <StaleReason /> : <p class="hint">{t("operator.permit_hint")}</p>}
        </div>
      );
    case "press_both_hands":
      return <BothHands press={press} stale={stale} busy={busy} onWithdraw={() => run(api.withdraw(serial))} />;
    case "wait_for_dies":
      return <Closing press={press} stale={stale} target_kn={fitting.target_force_kn} busy={busy} onOpen={() => run(api.press("open-dies"))} />;
    case "judge":
      return <OneButton text={t("operator.give_verdict")} busy={busy} onPress={() => run(api.act(serial, "judge"))} />;
    case "release":
      return <OneButton text={t("operator.release_it")} busy={busy} onPress={() => run(api.act(serial, "release"))} />;
    case "resume":
      return <OneButton text={t("operator.take_up_again")} busy={busy} onPress={() => run(api.act(serial, "resume"))} />;
    case "clear_fault":
      return (
        <>
          <OneButton text={t("operator.clear_press_fault")} busy={busy} onPress={() => run(api.press("clear-fault"))} />
          {!press.dies_home && <button type="button" class="button" disabled={busy} onClick={() => run(api.press("open-dies"))}>{t("common.open_dies")}</button>}
        </>
      );
    case "wait_for_reviewer":
      return (
        <>
          <Disposition fitting={fitting} person={props.person} busy={busy} onDispose={(what, reason, pin) => run(api.dispose(serial, what, reason, pin))} />
          <button type="button" class="button" onClick={props.onStartAnother}>{t("operator.start_another")}</button>
        </>
      );
    case "done":
      return (
        <div class="one-button">
          <button type="button" class="button primary huge" onClick={props.onStartAnother}>{t("operator.start_next")}</button>
        </div>
      );
    default:
      return <p class="hint">{t("operator.follows")}</p>;
  }
}

/** Somebody else drives the press: this screen shows what they do, and can still stop it. */
function Watch(props: Props) {
  const { fitting, press, stale } = props;
  const { busy, run } = props.acting;
  const note = <p class="hint">{t("operator.watching", { name: props.driven_by })}</p>;
  if (fitting.next.code === "press_both_hands") {
    return <>{note}<BothHands press={press} stale={stale} busy={busy} onWithdraw={() => run(api.withdraw(fitting.serial))} /></>;
  }
  if (fitting.next.code === "wait_for_dies") {
    return <>{note}<Closing press={press} stale={stale} target_kn={fitting.target_force_kn} busy={busy} onOpen={() => run(api.press("open-dies"))} /></>;
  }
  return note;
}

function OneButton(props: { text: string; busy: boolean; onPress: () => void }) {
  return (
    <div class="one-button">
      <button type="button" class="button primary huge" disabled={props.busy} onClick={props.onPress}>{props.text}</button>
    </div>
  );
}

function StaleReason() {
  return <p class="hint">{t("operator.stale_reason")}</p>;
}

function BigNumber(props: { label: string; text: string }) {
  return (
    <div class="big-number">
      <span>{props.label}</span>
      <b>{props.text}</b>
    </div>
  );
}

function BothHands(props: { press: Press; stale: boolean; busy: boolean; onWithdraw: () => void }) {
  const { press } = props;
  return (
    <div class="hands">
      <svg class="hands-picture" viewBox="0 0 240 100" role="img" aria-label={t("operator.palms")}>
        <g class={press.both_hands_on ? "palm on" : "palm"}>
          <rect x="14" y="62" width="82" height="26" rx="4" />
          <ellipse cx="55" cy="50" rx="34" ry="20" />
        </g>
        <g class={press.both_hands_on ? "palm on" : "palm"}>
          <rect x="144" y="62" width="82" height="26" rx="4" />
          <ellipse cx="185" cy="50" rx="34" ry="20" />
        </g>
        <path class="palm-arrow" d="M55 4v22m-9-9l9 9 9-9M185 4v22m-9-9l9 9 9-9" />
      </svg>
      <ul class="conditions">
        <li><Sign meaning={press.both_hands_on ? "normal" : "neutral"} />{press.both_hands_on ? t("operator.hands_on") : t("operator.hands_off")}</li>
        <li><Sign meaning={press.guard_closed ? "normal" : "abnormal"} />{press.guard_closed ? t("operator.guard_closed") : t("operator.guard_open")}</li>
        <li><Sign meaning={press.emergency_circuit_healthy ? "normal" : "danger"} />{press.emergency_circuit_healthy ? t("operator.circuit_healthy") : t("operator.circuit_open")}</li>
      </ul>
      <button type="button" class="button" disabled={props.busy} onClick={props.onWithdraw}>{t("operator.withdraw")}</button>
    </div>
  );
}

function Closing(props: { press: Press; stale: boolean; target_kn: number; busy: boolean; onOpen: () => void }) {
  const unit = useLengthUnit();
  const { press } = props;
  const share = props.target_kn > 0 && press.force_kn !== null ? Math.min(1, Math.max(0, press.force_kn / props.target_kn)) : 0;
  return (
    <div class={`closing${props.stale ? " old" : ""}`}>
      <BigNumber label={t("operator.force")} text={force_text(press.force_kn)} />
      <BigNumber label={t("operator.gap")} text={gap_text(press.gap_mm, unit)} />
      <meter class="force-bar" min={0} max={1} value={share} aria-label={t("operator.force_of_target")}>{fixed(share * 100, 0)} %</meter>
      <p class="hint">{t("operator.target_hint", { force: fixed(props.target_kn, 0) })}</p>
      <button type="button" class="button" disabled={props.busy} onClick={props.onOpen}>{t("common.open_dies")}</button>
    </div>
  );
}
