// One request at a time on the fitting, and what came of the last one.
import { useEffect, useState } from "preact/hooks";
import type { Outcome } from "./api";
import type { Trouble } from "./findings";

export interface Acting {
  busy: boolean;
  trouble: Trouble | null;
  run: (request: Promise<Outcome<unknown>>) => void;
}

/** `step` names what the page is about: the trouble of one step is forgotten at the next. */
export function useActing(step: string, onAnswer: (outcome: Outcome<unknown>) => void): Acting {
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => setTrouble(null), [step]);
  const run = async (request: Promise<Outcome<unknown>>) => {
    setBusy(true);
    setTrouble(null);
    const outcome = await request;
    setBusy(false);
    if (outcome.kind !== "taken") setTrouble(outcome);
    onAnswer(outcome);
  };
  return { busy, trouble, run: (request) => void run(request) };
}
