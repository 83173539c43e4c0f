// What is quarantined, and putting a lot, a die pair or a gauge there: the consequences are shown before anything is done.
import { useEffect, useState } from "preact/hooks";
import { api, type Item, type Outcome, type QuarantinedItem, type QuarantineOutcome } from "./api";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { address_of } from "./routes";
import { useDesk } from "./session";
import { SignIn } from "./sign_in";
import { TextPad } from "./text_pad";

const item_words: Record<Item, string> = { rope_lot: "Rope lot", terminal_lot: "Terminal lot", die_pair: "Die pair", gauge: "Gauge" };
const items = Object.keys(item_words) as Item[];

export function Quarantine({ cautions }: { cautions: readonly string[] }) {
  const desk = useDesk();
  return desk.person === null ? <SignIn cautions={cautions} /> : <Desk />;
}

function Desk() {
  const desk = useDesk();
  const [now, setNow] = useState<QuarantinedItem[] | null>(null);
  const [item, setItem] = useState<Item>("rope_lot");
  const [id, setId] = useState("");
  const [reason, setReason] = useState("");
  const [shown, setShown] = useState<QuarantineOutcome | null>(null);
  const [done, setDone] = useState("");
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  const read = async () => {
    const outcome = await api.quarantined();
    if (outcome.kind === "taken") setNow(outcome.body.items);
  };
  useEffect(() => { void read(); }, []);
  // What was shown is of one item: another item is looked at anew before it can be confirmed.
  useEffect(() => setShown(null), [item, id]);
  const run = async (request: Promise<Outcome<QuarantineOutcome>>, then: (body: QuarantineOutcome) => void) => {
    setBusy(true);
    setTrouble(null);
    setDone("");
    const outcome = await request;
    desk.took_answer(outcome);
    if (outcome.kind === "taken") then(outcome.body);
    else setTrouble(outcome);
    await read();
    setBusy(false);
  };
  const reviewer = desk.person?.roles.includes("reviewer") ?? false;
  return (
    <main class="card quarantine">
      <h2>Quarantine</h2>
      <TroubleBox trouble={trouble} />
      {done !== "" && <p role="status" data-done>{done}</p>}
      <form
        class="disposition"
        onSubmit={(event) => {
          event.preventDefault();
          const what = { item, id: id.trim() };
          if (shown === null) void run(api.quarantine({ ...what, preview: true }), setShown);
          else
            void run(api.quarantine({ ...what, reason: reason.trim() }), (body) => {
              setDone(`${item_words[item]} ${what.id} is quarantined. ${body.held.length} open fittings are on hold.`);
              setId("");
              setReason("");
            });
        }}
      >
        <fieldset>
          <legend>What is in doubt</legend>
          <div class="choice-row">
            {items.map((one) => (
              <button type="button" key={one} class="choice" aria-pressed={one === item} onClick={() => setItem(one)}><span>{item_words[one]}</span></button>
            ))}
          </div>
        </fieldset>
        <TextPad label="Its number or name" value={id} onChange={setId} />
        {shown === null ? (
          <button type="submit" class="button primary" disabled={busy || id.trim() === ""}>Show what this would do</button>
        ) : (
          <>
            <Consequences outcome={shown} />
            <TextPad label="Reason, kept word for word" value={reason} onChange={setReason} long />
            <button type="submit" class="button primary record" disabled={busy || reason.trim() === ""}>Quarantine it and hold these fittings</button>
          </>
        )}
      </form>
      <h3>Quarantined now</h3>
      {now?.length === 0 && <p class="hint">Nothing.</p>}
      <ul>
        {now?.map((one) => (
          <li key={`${one.item} ${one.id}`} data-quarantined={one.id}>
            <b>{item_words[one.item]} {one.id}</b>: {one.reason}
            {one.at_utc !== null && `, ${one.by}, ${local_time(one.at_utc)}`}
            {one.in_shop_file && " (the shop register says so; only who keeps it can lift that)"}
            {reviewer && one.at_utc !== null && <Lift busy={busy} onLift={(why) => void run(api.lift_quarantine({ item: one.item, id: one.id, reason: why }),
              (body) => setDone(`${item_words[one.item]} ${one.id} is free. ${body.held.length} fittings that use it still wait for a decision.`))} />}
          </li>
        ))}
      </ul>
    </main>
  );
}

function Consequences({ outcome }: { outcome: QuarantineOutcome }) {
  const list = (title: string, serials: readonly string[]) => (
    <>
      <h3>{title}: {serials.length}</h3>
      <ul>{serials.slice(0, 200).map((serial) => <li key={serial}><a href={address_of({ view: "fitting", serial })}>{serial}</a></li>)}</ul>
      {serials.length > 200 && <p class="hint">And {serials.length - 200} more: find them by this item.</p>}
    </>
  );
  return (
    <section aria-label="Consequences" data-consequences>
      {list("Open fittings that would be held", outcome.held)}
      {list("Released already, to be looked at", outcome.released)}
    </section>
  );
}

function Lift(props: { busy: boolean; onLift: (reason: string) => void }) {
  const [open, setOpen] = useState(false);
  const [reason, setReason] = useState("");
  if (!open) return <button type="button" class="button" onClick={() => setOpen(true)}>Lift it</button>;
  return (
    <div class="disposition">
      <TextPad label="Why it may be used again" value={reason} onChange={setReason} long />
      <button type="button" class="button primary" disabled={props.busy || reason.trim() === ""} onClick={() => props.onLift(reason.trim())}>Lift the quarantine</button>
    </div>
  );
}
