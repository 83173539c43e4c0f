// What is quarantined, and putting a lot, a die pair or a gauge there: the consequences are shown before anything is done.
import { useEffect, useState } from "preact/hooks";
import { api, type Item, type Library, type Outcome, type QuarantinedItem, type QuarantineOutcome } from "./api";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { many, t } from "./messages";
import { address_of } from "./routes";
import { useDesk } from "./session";
import { SignIn } from "./sign_in";
import { Sign } from "./signs";
import { TextPad } from "./text_pad";

const items: readonly Item[] = ["rope_lot", "terminal_lot", "die_pair", "gauge"];
const listed_most = 200;

function item_words(item: Item): string {
  switch (item) {
    case "rope_lot": return t("reviewer.rope_lot");
    case "terminal_lot": return t("reviewer.terminal_lot");
    case "die_pair": return t("reviewer.die_pair");
    case "gauge": return t("reviewer.gauge");
  }
}

/** The names that the register has for such a thing, to choose from; others can be typed. */
function names_of(item: Item, library: Library | null): readonly string[] {
  if (library === null) return [];
  switch (item) {
    case "rope_lot": return library.rope_lots.map((lot) => lot.id);
    case "terminal_lot": return library.terminal_lots.map((lot) => lot.id);
    case "die_pair": return library.die_pairs;
    case "gauge": return library.gauges.map((gauge) => gauge.id);
  }
}

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
  const in_shop_file = now?.filter((one) => one.at_utc === null) ?? [];
  const by_act = now?.filter((one) => one.at_utc !== null) ?? [];
  const row = (one: QuarantinedItem) => (
    <li key={`${one.item} ${one.id}`} data-quarantined={one.id}>
      <p><b>{item_words(one.item)} {one.id}</b>{one.reason !== "" && <>: {one.reason}</>}</p>
      <p class="hint">
        {one.at_utc !== null ? t("reviewer.by_at", { by: one.by, at: local_time(one.at_utc) }) : ""}
        {one.in_shop_file ? ` ${t("reviewer.register_says_so")}` : ""}
      </p>
      <p><a href={address_of({ view: "find", path: [`${one.item.replace("_", " ")} ${one.id}`] })}>{t("reviewer.fittings_with_it")}</a></p>
      {reviewer && one.at_utc !== null && <Lift busy={busy} onLift={(why) => void run(api.lift_quarantine({ item: one.item, id: one.id, reason: why }),
        (body) => setDone(t("reviewer.lifted", { item: `${item_words(one.item)} ${one.id}`, count: body.held.length })))} />}
    </li>
  );
  return (
    <main class="quarantine">
      <section class="card">
        <h2>{t("reviewer.put_in_quarantine")}</h2>
        <TroubleBox trouble={trouble} />
        {done !== "" && <p class="told told-normal" role="status" data-done><Sign meaning="normal" size={30} /><span>{done}</span></p>}
        <form
          class="disposition"
          onSubmit={(event) => {
            event.preventDefault();
            const what = { item, id: id.trim() };
            if (shown === null) void run(api.quarantine({ ...what, preview: true }), setShown);
            else
              void run(api.quarantine({ ...what, reason: reason.trim() }), (body) => {
                setDone(t("reviewer.quarantined_now", { item: `${item_words(item)} ${what.id}`, count: body.held.length }));
                setId("");
                setReason("");
              });
          }}
        >
          <fieldset>
            <legend>{t("reviewer.what_is_in_doubt")}</legend>
            <div class="choice-row">
              {items.map((one) => (
                <button type="button" key={one} class="choice" aria-pressed={one === item} onClick={() => { setItem(one); setId(""); }}><span>{item_words(one)}</span></button>
              ))}
            </div>
          </fieldset>
          <label class="field">
            <span>{t("reviewer.from_register")}</span>
            <select name="known" value={names_of(item, desk.library).includes(id) ? id : ""} onChange={(event) => setId(event.currentTarget.value)}>
              <option value="">{t("reviewer.choose_or_type")}</option>
              {names_of(item, desk.library).map((name) => <option key={name} value={name}>{name}</option>)}
            </select>
          </label>
          <TextPad label={t("reviewer.its_name")} value={id} onChange={setId} name="id" />
          {shown === null ? (
            <button type="submit" class="button primary" disabled={busy || id.trim() === ""}>{t("reviewer.show_consequences")}</button>
          ) : (
            <>
              <Consequences outcome={shown} asked={`${item.replace("_", " ")} ${id.trim()}`} />
              <TextPad label={t("reviewer.reason_word_for_word")} value={reason} onChange={setReason} long />
              <div class="button-row">
                <button type="button" class="button" onClick={() => setShown(null)}>{t("common.go_back")}</button>
                <button type="submit" class="button primary record" disabled={busy || reason.trim() === ""}>{many(shown.held.length, "reviewer.quarantine_one", "reviewer.quarantine_some")}</button>
              </div>
              {reason.trim() === "" && <p class="hint" role="status">{t("reviewer.still_wanted", { missing: t("reviewer.the_reason") })}</p>}
            </>
          )}
        </form>
      </section>
      <section class="card">
        <h2>{t("reviewer.quarantined_list")}</h2>
        {now !== null && by_act.length === 0 && <p class="hint">{t("reviewer.nothing_quarantined")}</p>}
        <ul class="quarantined">{by_act.map(row)}</ul>
        {in_shop_file.length > 0 && (
          <>
            <h3>{t("reviewer.by_register")}</h3>
            <ul class="quarantined">{in_shop_file.map(row)}</ul>
          </>
        )}
      </section>
    </main>
  );
}

function Consequences({ outcome, asked }: { outcome: QuarantineOutcome; asked: string }) {
  const list = (title: string, serials: readonly string[], none: string) => (
    <>
      <h3>{title}: {serials.length}</h3>
      {serials.length === 0 ? <p class="hint">{none}</p> : (
        <ul class="serial-list">{serials.slice(0, listed_most).map((serial) => <li key={serial}><a class="serial" href={address_of({ view: "fitting", serial })}>{serial}</a></li>)}</ul>
      )}
      {serials.length > listed_most && (
        <p><a href={address_of({ view: "find", path: [asked] })}>{t("reviewer.and_more", { count: serials.length - listed_most })}</a></p>
      )}
    </>
  );
  return (
    <section class="consequences" aria-label={t("reviewer.consequences")} data-consequences>
      {list(t("reviewer.would_be_held"), outcome.held, t("reviewer.none_open"))}
      {list(t("reviewer.released_already"), outcome.released, t("reviewer.none_released"))}
    </section>
  );
}

function Lift(props: { busy: boolean; onLift: (reason: string) => void }) {
  const [open, setOpen] = useState(false);
  const [reason, setReason] = useState("");
  if (!open) return <button type="button" class="button" onClick={() => setOpen(true)}>{t("reviewer.lift_it")}</button>;
  return (
    <div class="disposition">
      <TextPad label={t("reviewer.why_free")} value={reason} onChange={setReason} long />
      <div class="button-row">
        <button type="button" class="button" onClick={() => setOpen(false)}>{t("common.go_back")}</button>
        <button type="button" class="button primary" disabled={props.busy || reason.trim() === ""} onClick={() => props.onLift(reason.trim())}>{t("reviewer.lift_quarantine")}</button>
      </div>
    </div>
  );
}
