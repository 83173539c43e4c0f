// Who works here: choose a name, or type or scan an id; then the PIN. A first sign-in is by a one-time code, and ends with
// a PIN of the person's own, chosen twice.
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Outcome, Tries } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { many, t } from "./messages";
import { PinPad, pin_digits_least } from "./pin_pad";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { caution_words } from "./station_words";
import { TextPad } from "./text_pad";
import { clock_time } from "./times";

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
          <h3>{t("common.before_you_start")}</h3>
          <ul>{cautions.map((caution) => <li key={caution}>{caution_words(caution)}</li>)}</ul>
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
      {desk.shift_ended !== null && (
        <p class="notice shift-ended" role="status">{t("operator.shift_ended", { name: desk.shift_ended.name, time: clock_time(desk.shift_ended.at_utc) })}</p>
      )}
      <h2>{t("common.who_works")}</h2>
      {desk.library === null && (
        <p class="hint" role="status">{desk.library_missing ? t("common.people_missing") : t("common.people_awaited")}</p>
      )}
      <div class="people">
        {desk.library?.people.map((one) => (
          <button type="button" key={one.id} class="choice big" data-person={one.id} onClick={() => onChoose(one.id)}>
            <span>{one.name}</span>
            <small>{one.id}{one.roles.length > 0 && ` · ${one.roles.map(role_name).join(", ")}`}</small>
          </button>
        ))}
      </div>
      <form class="inline-form" onSubmit={(event) => { event.preventDefault(); if (id.trim() !== "") onChoose(id.trim()); }}>
        <TextPad label={t("common.type_your_id")} value={id} onChange={setId} name="person" lower />
        <button type="submit" class="button primary" disabled={id.trim() === ""}>{t("common.go_on")}</button>
      </form>
    </>
  );
}

/** A role in the words of this page; one it does not know as the station says it. */
export function role_name(role: string): string {
  switch (role) {
    case "operator": return t("common.role_operator");
    case "technician": return t("common.role_technician");
    case "planner": return t("common.role_planner");
    case "reviewer": return t("common.role_reviewer");
    case "administrator": return t("common.role_administrator");
    default: return role;
  }
}

function useName(id: string): string {
  return useDesk().library?.people.find((one) => one.id === id)?.name ?? id;
}

function ByPin({ person, onBack, onCode }: { person: string; onBack: () => void; onCode: () => void }) {
  const desk = useDesk();
  const name = useName(person);
  const [pin, setPin] = useState("");
  const attempt = useAttempt(t("common.pin_wrong"), t("common.pin_none_yet"));
  const send = () => {
    if (pin.length < pin_digits_least || attempt.blocked) return;
    setPin("");
    attempt.run(desk.sign_in(person, { pin }));
  };
  return (
    <PinForm title={name} onSend={send} beside={
      <>
        {desk.left?.id === person && <p class="notice abnormal">{t("common.session_ended")}</p>}
        {attempt.told}
        <div class="sign-in-ways">
          <button type="button" class="button" onClick={onBack}>{t("common.somebody_else")}</button>
          <button type="button" class="button" onClick={onCode}>{t("common.have_code")}</button>
        </div>
      </>
    }>
      <PinPad label={t("common.pin")} value={pin} onChange={setPin} disabled={attempt.blocked} focus />
      <button type="submit" class="button primary record" disabled={pin.length < pin_digits_least || attempt.blocked}>{t("common.sign_in")}</button>
    </PinForm>
  );
}

function ByCode({ person, onBack }: { person: string; onBack: () => void }) {
  const desk = useDesk();
  const name = useName(person);
  const [code, setCode] = useState("");
  const attempt = useAttempt(t("common.code_wrong"), t("common.code_ask"));
  const send = () => {
    if (code.trim() === "" || attempt.blocked) return;
    attempt.run(desk.sign_in(person, { code: code.trim() }));
  };
  return (
    <form class="by-code" onSubmit={(event) => { event.preventDefault(); send(); }}>
      <h2>{t("common.code_title", { name })}</h2>
      <p>{t("common.code_text")}</p>
      {attempt.told}
      <TextPad label={t("common.code_field")} value={code} onChange={setCode} name="code" />
      <div class="button-row">
        <button type="button" class="button" onClick={onBack}>{t("common.back")}</button>
        <button type="submit" class="button primary" disabled={code.trim() === "" || attempt.blocked}>{t("common.go_on")}</button>
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
    <PinForm title={t("common.choose_pin", { name: desk.setting_pin?.name ?? "" })} onSend={send} beside={
      <>
        <p>{t("common.choose_pin_text")}</p>
        {differ && <p class="notice abnormal" role="alert">{t("common.pins_differ")}</p>}
        {attempt.told}
        <p class="step-of">{t("common.step_of_two", { step: first === null ? 1 : 2 })}</p>
        <div class="sign-in-ways"><button type="button" class="button" onClick={onNotNow}>{t("common.not_now")}</button></div>
      </>
    }>
      <PinPad label={first === null ? t("common.new_pin") : t("common.new_pin_again")} value={pin} onChange={setPin} disabled={attempt.blocked} focus />
      <button type="submit" class="button primary record" disabled={pin.length < pin_digits_least || attempt.blocked}>{first === null ? t("common.go_on") : t("common.set_this_pin")}</button>
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
          <h3><Sign meaning="abnormal" />{t("common.wait_seconds", { seconds: wait_s })}</h3>
          <p>{t("common.too_many_tries")}</p>
        </section>
      ) : tries !== null && tries.wait_s === 0 ? (
        <section class="notice abnormal" data-tries={tries.tries_left}>
          <h3><Sign meaning="abnormal" />{wrong}</h3>
          <p>{many(tries.tries_left, "common.one_try_left", "common.tries_left")} {and_then}</p>
        </section>
      ) : null}
      <TroubleBox trouble={trouble} />
    </div>
  );
  return { blocked: busy || wait_s > 0, told, run: (request: Promise<Outcome<unknown>>) => void run(request) };
}
