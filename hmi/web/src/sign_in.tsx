// Who works here: choose a name, or type or scan an id.
import { useState } from "preact/hooks";
import type { Outcome } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { useDesk } from "./session";
import { TextPad } from "./text_pad";

export function SignIn({ cautions }: { cautions: readonly string[] }) {
  const desk = useDesk();
  const [id, setId] = useState("");
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const enter = async (person: string) => {
    setBusy(true);
    setTrouble(null);
    const outcome: Outcome<unknown> = await desk.sign_in(person);
    setBusy(false);
    if (outcome.kind === "taken") return;
    setTrouble(outcome.kind === "signed_out"
      ? { kind: "problem", status: 401, problem: { place: "", found: person, expected: "the id of a person in the shop's register" } }
      : outcome);
  };
  return (
    <main class="sign-in card">
      <h2>Who works here?</h2>
      <TroubleBox trouble={trouble} />
      {desk.library === null && (
        <p class="hint" role="status">{desk.library_missing ? "The station has not given the list of people. Trying again." : "Asking the station for the list of people."}</p>
      )}
      <div class="people">
        {desk.library?.people.map((person) => (
          <button type="button" key={person.id} class="choice big" disabled={busy} data-person={person.id} onClick={() => void enter(person.id)}>
            <span>{person.name}</span>
            <small>{person.id}{person.roles.length > 0 && ` · ${person.roles.join(", ")}`}</small>
          </button>
        ))}
      </div>
      <form class="inline-form" onSubmit={(event) => { event.preventDefault(); if (id.trim() !== "") void enter(id.trim()); }}>
        <TextPad label="Or type or scan your id" value={id} onChange={setId} name="person" lower />
        <button type="submit" class="button primary" disabled={busy || id.trim() === ""}>Sign in</button>
      </form>
      {cautions.length > 0 && (
        <section class="caution-card">
          <h3>Before you start</h3>
          <ul>{cautions.map((caution) => <li key={caution}>{caution}</li>)}</ul>
        </section>
      )}
    </main>
  );
}
