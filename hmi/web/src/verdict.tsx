// The verdict: a word, a shape, a border and a colour, each enough by itself.
import type { Fitting } from "./api";
import { FindingList } from "./findings";
import { Sign, type Meaning } from "./signs";

interface Shown { word: string; meaning: Meaning; sentence: string }

export function verdict_of(fitting: { stage: string; verdict: string }): Shown | null {
  if (fitting.stage === "released") {
    return { word: "Released", meaning: "normal", sentence: "Accepted and released. The record of this fitting is closed." };
  }
  if (fitting.stage === "scrapped" || fitting.verdict === "scrapped") {
    return { word: "Scrapped", meaning: "danger", sentence: "Do not use this fitting. Mark the part so that nobody can use it." };
  }
  if (fitting.stage === "hold" || fitting.verdict === "held") {
    return { word: "On hold", meaning: "abnormal", sentence: "Not accepted. Keep the part with its serial; a reviewer decides." };
  }
  if (fitting.stage === "accepted" || fitting.verdict === "accepted") {
    return { word: "Accepted", meaning: "normal", sentence: "All evidence is within limits. Not yet released." };
  }
  return null;
}

export function VerdictBanner({ fitting }: { fitting: Fitting }) {
  const shown = verdict_of(fitting);
  if (shown === null) return null;
  return (
    <section class={`verdict verdict-${shown.meaning}`} aria-label={`Verdict: ${shown.word}`} data-verdict={shown.word}>
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
      {shown?.word ?? (stage === "aside" ? "Put aside" : "Open")}
    </span>
  );
}
