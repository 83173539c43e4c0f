// What a reviewer decides about a fitting on hold, with the reason that the record keeps word for word.
import { useState } from "preact/hooks";
import type { Decision, Fitting, Person } from "./api";
import { PinPad } from "./pin_pad";
import { TextPad } from "./text_pad";

const decision_words: Record<Decision, string> = { scrap: "scrap it", use_as_is: "use as it is", return_to_work: "back to work" };

export function Disposition(props: {
  fitting: Fitting;
  person: Person | null;
  busy: boolean;
  onDispose: (what: Decision, reason: string, pin: string) => void;
}) {
  const [what, setWhat] = useState<"" | Decision>("");
  const [reason, setReason] = useState("");
  const [pin, setPin] = useState("");
  if (props.person === null || !props.person.roles.includes("reviewer")) {
    return <p class="hint">A person with the reviewer's role must sign in and decide. The press is free for another fitting.</p>;
  }
  const signing = props.fitting.disposition;
  const missing = [what === "" ? "the decision" : "", reason.trim() === "" ? "the reason" : "", pin.length < 4 ? "your PIN" : ""].filter((text) => text !== "");
  return (
    <form
      class="disposition"
      onSubmit={(event) => {
        event.preventDefault();
        if (what === "" || missing.length > 0) return;
        setPin("");
        props.onDispose(what, reason.trim(), pin);
      }}
    >
      {signing?.two_persons && (
        <p class="hint" role="status" data-two-persons>
          {signing.proposed === null
            ? "This recipe asks for two reviewers: the first signature proposes, another person who signs the same decides."
            : `${signing.proposed_by} has signed "${decision_words[signing.proposed]}". Another reviewer who signs the same decides; a different decision replaces it.`}
        </p>
      )}
      <fieldset>
        <legend>Decision</legend>
        <div class="choice-row">
          <button type="button" class="choice big" aria-pressed={what === "scrap"} onClick={() => setWhat("scrap")}>
            <span>Scrap it</span><small>The part must not be used</small>
          </button>
          <button type="button" class="choice big" aria-pressed={what === "use_as_is"} onClick={() => setWhat("use_as_is")}>
            <span>Use as it is</span><small>You answer for this with your name</small>
          </button>
          {signing?.returnable && (
            <button type="button" class="choice big" aria-pressed={what === "return_to_work"} onClick={() => setWhat("return_to_work")}>
              <span>Back to work</span><small>Nothing seen of the part itself held it</small>
            </button>
          )}
        </div>
      </fieldset>
      <TextPad label="Reason, kept word for word" value={reason} onChange={setReason} long />
      <PinPad label="Your PIN once more: it is your signature" value={pin} onChange={setPin} disabled={props.busy} />
      <button type="submit" class="button primary record" disabled={props.busy || missing.length > 0}>Record the decision</button>
      <p class="hint" role="status">{missing.length > 0 ? `Still wanted: ${missing.join(", ")}` : "Ready to record"}</p>
    </form>
  );
}
