// Where the fitting stands in the whole job: one row of steps, the present one marked by shape and weight.
import type { Fitting, Stage } from "./api";
import { t } from "./messages";

const order_of_stage: Record<Exclude<Stage, "aside">, number> = {
  measure: 0, mark: 1, insert: 2, position: 3, permit_recorded: 3, permit_given: 3, biting: 3, turn: 4, gauge: 5, accepted: 6, hold: 6,
  scrapped: 6, released: 7,
};

interface Step { name: string; at: number }

/** Passes of the recipe, and those added by pressing again. */
function steps_of(fitting: Fitting): Step[] {
  const begun = fitting.stage === "turn" ? fitting.pass + 1 : fitting.pass;
  const steps: Step[] = [
    { name: t("operator.step_measure"), at: 0 }, { name: t("operator.step_mark"), at: 1 }, { name: t("operator.step_insert"), at: 2 },
  ];
  for (let pass = 1; pass <= Math.max(fitting.passes, begun); pass += 1) {
    const again = pass > fitting.passes;
    if (pass > 1) steps.push({ name: again ? t("operator.step_turn_again", { number: pass - 1 }) : t("operator.step_turn"), at: 2 * pass + 0.5 });
    steps.push({ name: again ? t("operator.step_press_again", { number: pass - fitting.passes }) : t("operator.step_pass", { pass }), at: 2 * pass + 1.5 });
  }
  steps.push({ name: t("operator.step_gauge"), at: 1000 }, { name: t("operator.step_verdict"), at: 1001 }, { name: t("operator.step_release"), at: 1002 });
  return steps;
}

function present(fitting: Fitting): number | null {
  if (fitting.stage === "aside") return null;
  // Held or scrapped anywhere: what went before is in the record, not claimed here.
  const rank = order_of_stage[fitting.stage];
  const pass = Math.max(1, fitting.pass);
  if (rank <= 2) return rank;
  if (rank === 3) return 2 * pass + 1.5;
  if (rank === 4) return 2 * (pass + 1) + 0.5;
  return 1000 + rank - 5;
}

export function Steps({ fitting }: { fitting: Fitting }) {
  const now = present(fitting);
  return (
    <ol class="steps" aria-label={t("operator.steps")}>
      {steps_of(fitting).map((step) => {
        const cut_short = fitting.stage === "hold" || fitting.stage === "scrapped";
        const state = now === null || (cut_short && step.at !== now) ? "later" : step.at < now ? "past" : step.at === now ? "now" : "later";
        const last = fitting.stage === "released";
        return (
          <li key={step.name} class={`step ${last && state === "now" ? "past" : state}`} aria-current={state === "now" ? "step" : undefined}>
            {step.name}
          </li>
        );
      })}
    </ol>
  );
}
