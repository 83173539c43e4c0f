// An administrator's view: who there is, what they may do, until when; one-time codes, unlocking, removal.
import { useEffect, useState } from "preact/hooks";
import { api, type Account, type Outcome } from "./api";
import { Confirm } from "./confirm";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { useDesk } from "./session";
import { SignIn } from "./sign_in";
import { TextPad } from "./text_pad";

const all_roles = ["operator", "technician", "planner", "reviewer", "administrator"];

export function People({ cautions }: { cautions: readonly string[] }) {
  const desk = useDesk();
  if (desk.person === null) return <SignIn cautions={cautions} />;
  if (!desk.person.roles.includes("administrator")) {
    return <main class="card"><h2>People</h2><p>Only an administrator gives and takes rights.</p></main>;
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
      <h2>People</h2>
      <p class="hint">Every change goes on record with your name, before it counts. Whoever loses a right is signed out at once.</p>
      <TroubleBox trouble={trouble} />
      <ul class="accounts">
        {people?.map((one) => (
          <li key={one.id} data-account={one.id}>
            <button type="button" class="account-head" aria-expanded={open === one.id} onClick={() => { setOpen(open === one.id ? null : one.id); setIssued(null); }}>
              <b>{one.name}</b><span class="account-id">{one.id}</span>
              <span class="account-roles">{one.roles.join(", ") || "no role"}</span>
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
      {people === null && trouble === null && <p class="hint" role="status">Asking the station.</p>}
      <NewPerson busy={busy} onAdd={(body) => void run(api.add_person(body), () => setOpen(body.id))} />
    </main>
  );
}

function state_of(one: Account): string {
  if (one.locked_for_s > 0) return `locked for ${one.locked_for_s} s`;
  if (one.code_waits) return "one-time code waits";
  return one.has_pin ? "PIN set" : "no PIN yet";
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
        <legend>Roles</legend>
        <div class="choice-row">
          {all_roles.map((role) => (
            <button type="button" key={role} class="choice" aria-pressed={roles.includes(role)} data-role={role}
              onClick={() => setRoles(roles.includes(role) ? roles.filter((one) => one !== role) : [...roles, role])}>{role}</button>
          ))}
        </div>
        <button type="button" class="button primary" disabled={!changed || props.busy} onClick={() => props.onRoles(all_roles.filter((role) => roles.includes(role)))}>Change the roles</button>
      </fieldset>
      <fieldset>
        <legend>Qualified for</legend>
        {qualified.length === 0 && <p class="hint">Nothing: an operator starts no fitting.</p>}
        <ul class="qualified">
          {qualified.map(([name, day]) => (
            <li key={name}><span>{name}</span><span>until {day}</span>
              <button type="button" class="button" disabled={props.busy} aria-label={`End the qualification for ${name}`} onClick={() => props.onQualify(name, null)}>End it</button></li>
          ))}
        </ul>
        <div class="qualify">
          <label class="field"><span>Recipe family</span>
            <select name="family" value={family} onChange={(event) => setFamily(event.currentTarget.value)}>
              <option value="">Choose</option>
              {props.families.map((name) => <option key={name} value={name}>{name}</option>)}
            </select>
          </label>
          <label class="field"><span>Last day</span><input type="date" name="until" value={until} onInput={(event) => setUntil(event.currentTarget.value)} /></label>
          <button type="button" class="button" disabled={family === "" || until === "" || props.busy} onClick={() => props.onQualify(family, until)}>Qualify</button>
        </div>
      </fieldset>
      <fieldset>
        <legend>Sign-in</legend>
        {props.issued !== null && (
          <p class="issued" role="status"><span>One-time code for {account.name}, shown once:</span><b>{props.issued.code}</b>
            <span>Until {local_time(props.issued.until_utc)}. Hand it over yourself; it sets their PIN.</span></p>
        )}
        <div class="button-row">
          <button type="button" class="button" disabled={props.busy} onClick={props.onCode}>{account.has_pin ? "Code for a forgotten PIN" : "Issue a one-time code"}</button>
          {(account.locked_for_s > 0 || account.tries_failed > 0) && <button type="button" class="button" disabled={props.busy} onClick={props.onUnlock}>Unlock</button>}
          <button type="button" class="button" disabled={props.busy} onClick={() => setRemoving(true)}>Remove</button>
        </div>
      </fieldset>
      {removing && (
        <Confirm title={`Remove ${account.name}?`} yes="Remove" onNo={() => setRemoving(false)} onYes={() => { setRemoving(false); props.onRemove(); }}>
          <p>They are signed out at once and cannot sign in any more. What they did stays on record under the id {account.id}.</p>
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
      <h3>Somebody new</h3>
      <div class="two-fields">
        <TextPad label="Name" value={name} onChange={setName} name="new-name" />
        <TextPad label="Id: small letters, digits, hyphens; never given to another person" value={id} onChange={setId} name="new-id" lower />
      </div>
      <button type="submit" class="button primary" disabled={busy || id.trim() === "" || name.trim() === ""}>Add</button>
    </form>
  );
}
