// The verdict: a word, a shape, a border and a colour, each enough by itself.
import type { Fitting } from "./api";
import { FindingList } from "./findings";
import { t } from "./messages";
import { Sign, type Meaning } from "./signs";

interface Shown { word: string; id: string; meaning: Meaning; sentence: string }

export function verdict_of(fitting: { stage: string; verdict: string }): Shown | null {
  if (fitting.stage === "released") {
    return { word: t("operator.released"), id: "Released", meaning: "normal", sentence: t("operator.released_text") };
  }
  if (fitting.stage === "scrapped" || fitting.verdict === "scrapped") {
    return { word: t("operator.scrapped"), id: "Scrapped", meaning: "danger", sentence: t("operator.scrapped_text") };
  }
  if (fitting.stage === "hold" || fitting.verdict === "held") {
    return { word: t("operator.on_hold"), id: "On hold", meaning: "abnormal", sentence: t("operator.on_hold_text") };
  }
  if (fitting.stage === "accepted" || fitting.verdict === "accepted") {
    return { word: t("operator.accepted_word"), id: "Accepted", meaning: "normal", sentence: t("operator.accepted_text") };
  }
  return null;
}

export function VerdictBanner({ fitting }: { fitting: Fitting }) {
  const shown = verdict_of(fitting);
  if (shown === null) return null;
  return (
    <section class={`verdict verdict-${shown.meaning}`} aria-label={t("operator.verdict_label", { word: shown.word })} data-verdict={shown.id}>
      <div class="verdict-head">
        <Sign meaning={shown.meaning} size={88} />
        <div>
          <p class="verdict-word">{shown.word}</p>
          <p class="verdict-sentence">{shown.sentence}</p>
        </div>
      </div>
      {fitting.standing.length > 0 && <FindingList findings={fitting.standing} />}
    </section>
  );
}

/** One word with its shape, for lists. */
export function VerdictMark({ stage, verdict }: { stage: string; verdict: string }) {
  const shown = verdict_of({ stage, verdict });
  return (
    <span class="verdict-mark">
      <Sign meaning={shown?.meaning ?? "neutral"} size={22} />
      {shown?.word ?? (stage === "aside" ? t("operator.aside") : t("operator.open"))}
    </span>
  );
}
