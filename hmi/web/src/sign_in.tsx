// Who works here: choose a name, or type or scan an id; then the PIN. A first sign-in is by a one-time code, and ends with
// a PIN of the person's own, chosen twice.
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Outcome, Tries } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { PinPad, pin_digits_least } from "./pin_pad";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { TextPad } from "./text_pad";

export function SignIn({ cautions }: { cautions: readonly string[] }) {
  const desk = useDesk();
  const [person, setPerson] = useState<string | null>(desk.left?.id ?? null);
  const [by_code, setByCode] = useState(false);
  const back = () => { setPerson(null); setByCode(false); };
  return (
    <main class="sign-in card">
      {desk.setting_pin !== null ? <ChoosePin onNotNow={() => { back(); void desk.sign_out(); }} />
        : person === null ? <Who onChoose={setPerson} />
        : by_code ? <ByCode person={person} onBack={() => setByCode(false)} />
        : <ByPin person={person} onBack={back} onCode={() => setByCode(true)} />}
      {cautions.length > 0 && person === null && (
        <section class="caution-card">
          <h3>Before you start</h3>
          <ul>{cautions.map((caution) => <li key={caution}>{caution}</li>)}</ul>
        </section>
      )}
    </main>
  );
}

function Who({ onChoose }: { onChoose: (id: string) => void }) {
  const desk = useDesk();
  const [id, setId] = useState("");
  useEffect(() => { desk.read_again(); }, []); // people may have come and gone since
  return (
    <>
      <h2>Who works here?</h2>
      {desk.library === null && (
        <p class="hint" role="status">{desk.library_missing ? "The station has not given the list of people. Trying again." : "Asking the station for the list of people."}</p>
      )}
      <div class="people">
        {desk.library?.people.map((one) => (
          <button type="button" key={one.id} class="choice big" data-person={one.id} onClick={() => onChoose(one.id)}>
            <span>{one.name}</span>
            <small>{one.id}{one.roles.length > 0 && ` · ${one.roles.join(", ")}`}</small>
          </button>
        ))}
      </div>
      <form class="inline-form" onSubmit={(event) => { event.preventDefault(); if (id.trim() !== "") onChoose(id.trim()); }}>
        <TextPad label="Or type or scan your id" value={id} onChange={setId} name="person" lower />
        <button type="submit" class="button primary" disabled={id.trim() === ""}>Go on</button>
      </form>
    </>
  );
}

function useName(id: string): string {
  return useDesk().library?.people.find((one) => one.id === id)?.name ?? id;
}

function ByPin({ person, onBack, onCode }: { person: string; onBack: () => void; onCode: () => void }) {
  const desk = useDesk();
  const name = useName(person);
  const [pin, setPin] = useState("");
  const attempt = useAttempt("That is not the PIN.", "This person has no PIN yet? Then sign in with the one-time code.");
  const send = () => {
    if (pin.length < pin_digits_least || attempt.blocked) return;
    setPin("");
    attempt.run(desk.sign_in(person, { pin }));
  };
  return (
    <PinForm title={name} onSend={send} beside={
      <>
        {desk.left?.id === person && <p class="notice abnormal">Your session has ended. What you had begun is still here: give your PIN to go on.</p>}
        {attempt.told}
        <div class="sign-in-ways">
          <button type="button" class="button" onClick={onBack}>Somebody else</button>
          <button type="button" class="button" onClick={onCode}>I have a one-time code</button>
        </div>
      </>
    }>
      <PinPad label="PIN" value={pin} onChange={setPin} disabled={attempt.blocked} focus />
      <button type="submit" class="button primary record" disabled={pin.length < pin_digits_least || attempt.blocked}>Sign in</button>
    </PinForm>
  );
}

function ByCode({ person, onBack }: { person: string; onBack: () => void }) {
  const desk = useDesk();
  const name = useName(person);
  const [code, setCode] = useState("");
  const attempt = useAttempt("That code is not right, or has ended.", "An administrator can issue another.");
  const send = () => {
    if (code.trim() === "" || attempt.blocked) return;
    attempt.run(desk.sign_in(person, { code: code.trim() }));
  };
  return (
    <form class="by-code" onSubmit={(event) => { event.preventDefault(); send(); }}>
      <h2>{name}: first sign-in</h2>
      <p>Give the one-time code you were handed. It is good for one thing: choosing your own PIN.</p>
      {attempt.told}
      <TextPad label="One-time code, for example K7QD-2M9P-X4TR" value={code} onChange={setCode} name="code" />
      <div class="button-row">
        <button type="button" class="button" onClick={onBack}>Back</button>
        <button type="submit" class="button primary" disabled={code.trim() === "" || attempt.blocked}>Go on</button>
      </div>
    </form>
  );
}

/** The PIN a person will have from now on, typed twice. */
function ChoosePin({ onNotNow }: { onNotNow: () => void }) {
  const desk = useDesk();
  const [first, setFirst] = useState<string | null>(null);
  const [pin, setPin] = useState("");
  const [differ, setDiffer] = useState(false);
  const attempt = useAttempt("", "");
  const send = () => {
    if (pin.length < pin_digits_least || attempt.blocked) return;
    setPin("");
    if (first === null) {
      setFirst(pin);
      setDiffer(false);
      return;
    }
    setFirst(null);
    setDiffer(first !== pin);
    if (first === pin) attempt.run(desk.set_pin(pin));
  };
  return (
    <PinForm title={`${desk.setting_pin?.name ?? ""}: choose your PIN`} onSend={send} beside={
      <>
        <p>4 to 12 digits that only you know. Not 1234, not 0000, no repeated group. Nobody at this station can read it; who forgets it asks an administrator for a new code.</p>
        {differ && <p class="notice abnormal" role="alert">The two did not agree. Choose again.</p>}
        {attempt.told}
        <p class="step-of">{first === null ? "Step 1 of 2" : "Step 2 of 2"}</p>
        <div class="sign-in-ways"><button type="button" class="button" onClick={onNotNow}>Not now</button></div>
      </>
    }>
      <PinPad label={first === null ? "Your new PIN" : "The same PIN once more"} value={pin} onChange={setPin} disabled={attempt.blocked} focus />
      <button type="submit" class="button primary record" disabled={pin.length < pin_digits_least || attempt.blocked}>{first === null ? "Go on" : "Set this PIN"}</button>
    </PinForm>
  );
}

function PinForm(props: { title: string; onSend: () => void; beside: ComponentChildren; children: ComponentChildren }) {
  return (
    <form class="pin-form" onSubmit={(event) => { event.preventDefault(); props.onSend(); }}>
      <div class="pin-beside"><h2>{props.title}</h2>{props.beside}</div>
      <div class="pin-entry">{props.children}</div>
    </form>
  );
}

/** One try at a time; what came of it in plain words, and the wait counted down. */
function useAttempt(wrong: string, and_then: string) {
  const [busy, setBusy] = useState(false);
  const [tries, setTries] = useState<Tries | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const [wait_until, setWaitUntil] = useState(0);
  const [now, setNow] = useState(() => performance.now());
  const wait_s = Math.max(0, Math.ceil((wait_until - now) / 1000));
  useEffect(() => {
    if (wait_s === 0) return;
    const timer = setInterval(() => setNow(performance.now()), 250);
    return () => clearInterval(timer);
  }, [wait_s === 0]);

  const run = async (request: Promise<Outcome<unknown>>) => {
    setBusy(true);
    const outcome = await request;
    setBusy(false);
    const left = outcome.kind === "signed_out" || outcome.kind === "problem" ? outcome.tries ?? null : null;
    setTries(left);
    setTrouble(left === null && outcome.kind !== "taken" ? outcome : null);
    setNow(performance.now());
    setWaitUntil(left === null ? 0 : performance.now() + left.wait_s * 1000);
  };
  const told = (
    <div role="alert">
      {wait_s > 0 ? (
        <section class="notice abnormal" data-wait={wait_s}>
          <h3><Sign meaning="abnormal" />Wait {wait_s} s</h3>
          <p>Too many tries have failed. An administrator can unlock this account at once.</p>
        </section>
      ) : tries !== null && tries.wait_s === 0 ? (
        <section class="notice abnormal" data-tries={tries.tries_left}>
          <h3><Sign meaning="abnormal" />{wrong}</h3>
          <p>{tries.tries_left === 1 ? "One try is left before a wait." : `${tries.tries_left} tries are left before a wait.`} {and_then}</p>
        </section>
      ) : null}
      <TroubleBox trouble={trouble} />
    </div>
  );
  return { blocked: busy || wait_s > 0, told, run: (request: Promise<Outcome<unknown>>) => void run(request) };
}
