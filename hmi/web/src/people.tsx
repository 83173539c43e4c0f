// An administrator's view: who there is, what they may do, until when; one-time codes, unlocking, removal.
import { useEffect, useState } from "preact/hooks";
import { api, type Account, type Outcome } from "./api";
import { Confirm } from "./confirm";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { useDesk } from "./session";
import { role_name, SignIn } from "./sign_in";
import { TextPad } from "./text_pad";

const all_roles = ["operator", "technician", "planner", "reviewer", "administrator"];

export function People({ cautions }: { cautions: readonly string[] }) {
  const desk = useDesk();
  if (desk.person === null) return <SignIn cautions={cautions} />;
  if (!desk.person.roles.includes("administrator")) {
    return <main class="card"><h2>{t("people.title")}</h2><p>{t("people.only_administrator")}</p></main>;
  }
  return <Roster />;
}

interface Issued { person: string; code: string; until_utc: string }

function Roster() {
  const desk = useDesk();
  const [people, setPeople] = useState<Account[] | null>(null);
  const [open, setOpen] = useState<string | null>(null);
  const [issued, setIssued] = useState<Issued | null>(null);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  const read = async () => {
    const outcome = await api.people();
    desk.took_answer(outcome);
    if (outcome.kind === "taken") setPeople(outcome.body.people);
    else setTrouble(outcome);
  };
  useEffect(() => { void read(); }, []);
  const run = async <T,>(request: Promise<Outcome<T>>, then?: (body: T) => void) => {
    setBusy(true);
    setTrouble(null);
    setIssued(null);
    const outcome = await request;
    desk.took_answer(outcome);
    if (outcome.kind === "taken") {
      then?.(outcome.body);
      await read();
      desk.read_again();
    } else setTrouble(outcome);
    setBusy(false);
  };
  const families = [...new Set((desk.library?.recipes ?? []).map((recipe) => recipe.family))].sort();
  return (
    <main class="card roster">
      <h2>{t("people.title")}</h2>
      <p class="hint">{t("people.on_record")}</p>
      <TroubleBox trouble={trouble} />
      <ul class="accounts">
        {people?.map((one) => (
          <li key={one.id} data-account={one.id}>
            <button type="button" class="account-head" aria-expanded={open === one.id} onClick={() => { setOpen(open === one.id ? null : one.id); setIssued(null); }}>
              <b>{one.name}</b><span class="account-id">{one.id}</span>
              <span class="account-roles">{one.roles.map(role_name).join(", ") || t("people.no_role")}</span>
              <span class="account-state">{state_of(one)}</span>
            </button>
            {open === one.id && (
              <AccountForm account={one} families={families} busy={busy} issued={issued?.person === one.id ? issued : null}
                onRoles={(roles) => void run(api.change_roles(one.id, roles))}
                onQualify={(family, until) => void run(api.qualify(one.id, family, until))}
                onCode={() => void run(api.issue_code(one.id), setIssued)}
                onUnlock={() => void run(api.unlock(one.id))}
                onRemove={() => void run(api.remove_person(one.id))} />
            )}
          </li>
        ))}
      </ul>
      {people === null && trouble === null && <p class="hint" role="status">{t("people.asking")}</p>}
      <NewPerson busy={busy} onAdd={(body) => void run(api.add_person(body), () => setOpen(body.id))} />
    </main>
  );
}

function state_of(one: Account): string {
  if (one.locked_for_s > 0) return t("people.locked", { seconds: one.locked_for_s });
  if (one.code_waits) return t("people.code_waits");
  return one.has_pin ? t("people.pin_set") : t("people.no_pin");
}

function AccountForm(props: {
  account: Account; families: readonly string[]; busy: boolean; issued: Issued | null;
  onRoles: (roles: string[]) => void; onQualify: (family: string, until: string | null) => void;
  onCode: () => void; onUnlock: () => void; onRemove: () => void;
}) {
  const { account } = props;
  const [roles, setRoles] = useState<readonly string[]>(account.roles);
  const [family, setFamily] = useState("");
  const [until, setUntil] = useState("");
  const [removing, setRemoving] = useState(false);
  useEffect(() => setRoles(account.roles), [account.roles.join()]);
  const changed = all_roles.some((role) => roles.includes(role) !== account.roles.includes(role));
  const qualified = Object.entries(account.qualified);
  return (
    <div class="account-form">
      <fieldset>
        <legend>{t("people.roles")}</legend>
        <div class="choice-row">
          {all_roles.map((role) => (
            <button type="button" key={role} class="choice" aria-pressed={roles.includes(role)} data-role={role}
              onClick={() => setRoles(roles.includes(role) ? roles.filter((one) => one !== role) : [...roles, role])}>{role_name(role)}</button>
          ))}
        </div>
        <button type="button" class="button primary" disabled={!changed || props.busy} onClick={() => props.onRoles(all_roles.filter((role) => roles.includes(role)))}>{t("people.change_roles")}</button>
      </fieldset>
      <fieldset>
        <legend>{t("people.qualified_for")}</legend>
        {qualified.length === 0 && <p class="hint">{t("people.not_qualified")}</p>}
        <ul class="qualified">
          {qualified.map(([name, day]) => (
            <li key={name}><span>{name}</span><span>{t("people.until_day", { day })}</span>
              <button type="button" class="button" disabled={props.busy} aria-label={t("people.end_qualification", { family: name })} onClick={() => props.onQualify(name, null)}>{t("people.end_it")}</button></li>
          ))}
        </ul>
        <div class="qualify">
          <label class="field"><span>{t("people.family")}</span>
            <select name="family" value={family} onChange={(event) => setFamily(event.currentTarget.value)}>
              <option value="">{t("people.choose")}</option>
              {props.families.map((name) => <option key={name} value={name}>{name}</option>)}
            </select>
          </label>
          <label class="field"><span>{t("people.last_day")}</span><input type="date" name="until" value={until} onInput={(event) => setUntil(event.currentTarget.value)} /></label>
          <button type="button" class="button" disabled={family === "" || until === "" || props.busy} onClick={() => props.onQualify(family, until)}>{t("people.qualify")}</button>
        </div>
      </fieldset>
      <fieldset>
        <legend>{t("people.sign_in")}</legend>
        {props.issued !== null && (
          <p class="issued" role="status"><span>{t("people.code_for", { name: account.name })}</span><b>{props.issued.code}</b>
            <span>{t("people.code_until", { time: local_time(props.issued.until_utc) })}</span></p>
        )}
        <div class="button-row">
          <button type="button" class="button" disabled={props.busy} onClick={props.onCode}>{account.has_pin ? t("people.code_forgotten") : t("people.code_issue")}</button>
          {(account.locked_for_s > 0 || account.tries_failed > 0) && <button type="button" class="button" disabled={props.busy} onClick={props.onUnlock}>{t("people.unlock")}</button>}
          <button type="button" class="button" disabled={props.busy} onClick={() => setRemoving(true)}>{t("people.remove")}</button>
        </div>
      </fieldset>
      {removing && (
        <Confirm title={t("people.remove_title", { name: account.name })} yes={t("people.remove")} onNo={() => setRemoving(false)} onYes={() => { setRemoving(false); props.onRemove(); }}>
          <p>{t("people.remove_text", { id: account.id })}</p>
        </Confirm>
      )}
    </div>
  );
}

function NewPerson({ busy, onAdd }: { busy: boolean; onAdd: (body: { id: string; name: string; roles: string[] }) => void }) {
  const [id, setId] = useState("");
  const [name, setName] = useState("");
  return (
    <form class="new-person" onSubmit={(event) => {
      event.preventDefault();
      if (id.trim() === "" || name.trim() === "" || busy) return;
      onAdd({ id: id.trim(), name: name.trim(), roles: [] });
      setId("");
      setName("");
    }}>
      <h3>{t("people.somebody_new")}</h3>
      <div class="two-fields">
        <TextPad label={t("people.name")} value={name} onChange={setName} name="new-name" />
        <TextPad label={t("people.id_rules")} value={id} onChange={setId} name="new-id" lower />
      </div>
      <button type="submit" class="button primary" disabled={busy || id.trim() === "" || name.trim() === ""}>{t("people.add")}</button>
    </form>
  );
}
