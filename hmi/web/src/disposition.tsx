// What a reviewer decides about a fitting on hold, with the reason that the record keeps word for word. Where the recipe
// asks for two, who has proposed what, and whose signature is still missing.
import { useState } from "preact/hooks";
import type { Decision, Fitting, Person } from "./api";
import { t } from "./messages";
import { PinPad } from "./pin_pad";
import { TextPad } from "./text_pad";

function decision_words(decision: Decision): string {
  switch (decision) {
    case "scrap": return t("reviewer.scrap");
    case "use_as_is": return t("reviewer.use_as_is");
    case "return_to_work": return t("reviewer.return_to_work");
  }
}

export function Disposition(props: {
  fitting: Fitting;
  person: Person | null;
  busy: boolean;
  onDispose: (what: Decision, reason: string, pin: string) => void;
}) {
  const [what, setWhat] = useState<"" | Decision>("");
  const [reason, setReason] = useState("");
  const [pin, setPin] = useState("");
  const signing = props.fitting.disposition;
  if (props.person === null || !props.person.roles.includes("reviewer")) {
    return (
      <>
        <TwoPersons fitting={props.fitting} person={null} />
        <p class="hint">{t("reviewer.reviewer_must_decide")}</p>
      </>
    );
  }
  const missing = [what === "" ? t("reviewer.the_decision") : "", reason.trim() === "" ? t("reviewer.the_reason") : "", pin.length < 4 ? t("reviewer.your_pin") : ""]
    .filter((text) => text !== "");
  const choice = (decision: Decision, meaning: string) => (
    <button type="button" class="choice big" aria-pressed={what === decision} onClick={() => setWhat(decision)}>
      <span>{decision_words(decision)}</span><small>{meaning}</small>
    </button>
  );
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
      <TwoPersons fitting={props.fitting} person={props.person} />
      <fieldset>
        <legend>{t("reviewer.decision")}</legend>
        <div class="choice-row">
          {choice("scrap", t("reviewer.scrap_means"))}
          {choice("use_as_is", t("reviewer.use_as_is_means"))}
          {signing?.returnable && choice("return_to_work", t("reviewer.return_to_work_means"))}
        </div>
      </fieldset>
      <TextPad label={t("reviewer.reason_word_for_word")} value={reason} onChange={setReason} long />
      <PinPad label={t("reviewer.pin_is_signature")} value={pin} onChange={setPin} disabled={props.busy} />
      <button type="submit" class="button primary record" disabled={props.busy || missing.length > 0}>{t("reviewer.record_decision")}</button>
      <p class="hint" role="status">{missing.length > 0 ? t("reviewer.still_wanted", { missing: missing.join(", ") }) : t("reviewer.ready_to_record")}</p>
    </form>
  );
}

/** Both signatures as two places: which is given and by whom, which is open. */
function TwoPersons({ fitting, person }: { fitting: Fitting; person: Person | null }) {
  const signing = fitting.disposition;
  if (signing?.two_persons !== true) return null;
  const proposed = signing.proposed;
  return (
    <section class="two-persons" role="status" data-two-persons>
      <ol>
        <li data-signed={proposed !== null}>
          <b>{t("reviewer.first_signature")}</b>
          <span>{proposed === null ? t("reviewer.nobody_yet") : t("reviewer.has_signed", { by: signing.proposed_by, decision: decision_words(proposed) })}</span>
        </li>
        <li data-signed="false">
          <b>{t("reviewer.second_signature")}</b>
          <span>{proposed === null ? t("reviewer.after_the_first") : t("reviewer.another_than", { by: signing.proposed_by })}</span>
        </li>
      </ol>
      {proposed !== null && <p class="hint">{person?.id === signing.proposed_by ? t("reviewer.you_signed_already") : t("reviewer.same_decides")}</p>}
    </section>
  );
}
