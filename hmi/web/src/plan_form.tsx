// A job's form: who it is for, how it is cut, and its lines. Faults stand beside their field as the station tells them;
// the plan is shown before anything is put on record.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type CheckedJob, type Library, type Problem, type WholeJob } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { body_of, draft_of, empty_draft, empty_line, force_units, length_units, type Amount, type Draft, type DraftEnd, type DraftLine } from "./plan_draft";
import { place_words } from "./plan_places";
import { PlanTold } from "./plan_view";
import { address_of } from "./routes";
import { useDesk } from "./session";
import { length_unit_now } from "./units";

const settle_ms = 500;

export function JobForm({ before, onKept }: { before: WholeJob | null; onKept: (job: WholeJob) => void }) {
  const desk = useDesk();
  const [draft, setDraft] = useState<Draft>(() => (before === null ? empty_draft(length_unit_now()) : draft_of(before.body, length_unit_now())));
  const [checked, setChecked] = useState<CheckedJob | null>(null);
  const [asked, setAsked] = useState(false);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const [answer, setAnswer] = useState("");
  const body = JSON.stringify(body_of(draft));

  const check = async (wanted: () => boolean) => {
    const outcome = await api.check_job(body_of(draft));
    if (!wanted()) return;
    desk.took_answer(outcome);
    setTrouble(outcome.kind === "taken" ? null : outcome);
    if (outcome.kind === "taken") { setChecked(outcome.body); setAnswer(body); }
  };
  // Once a plan was asked for it follows what is typed.
  useEffect(() => {
    if (!asked) return;
    let wanted = true;
    const timer = setTimeout(() => void check(() => wanted), settle_ms);
    return () => { wanted = false; clearTimeout(timer); };
  }, [body, asked]);

  // Who asked for the plan by the button is led to what is to be set right first.
  const form = useRef<HTMLFormElement>(null);
  const led = useRef(false);
  useEffect(() => {
    if (!led.current || checked === null) return;
    led.current = false;
    form.current?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus();
  }, [checked]);

  const current = checked !== null && answer === body;
  const keep = async () => {
    setBusy(true);
    setTrouble(null);
    const outcome = before === null ? await api.enter_job(body_of(draft)) : await api.change_job(before.job.id, before.job.entry, body_of(draft));
    setBusy(false);
    desk.took_answer(outcome);
    if (outcome.kind === "taken") onKept(outcome.body);
    else setTrouble(outcome);
  };
  const faults = checked?.faults ?? [];
  const set = (part: Partial<Draft>) => setDraft({ ...draft, ...part });
  const set_line = (at: number, part: Partial<DraftLine>) => set({ lines: draft.lines.map((line, index) => (index === at ? { ...line, ...part } : line)) });
  const at = (place: string) => faults.filter((fault) => fault.place === place);
  const shown = new Set(shown_places(draft));
  const elsewhere = faults.filter((fault) => !shown.has(fault.place));
  return (
    <main class="jobs job-form">
      <form class="card" ref={form} onSubmit={(event) => { event.preventDefault(); led.current = true; if (!asked) setAsked(true); else void check(() => true); }}>
        <p><a class="button" href={address_of(before === null ? { view: "jobs" } : { view: "jobs", path: ["of", before.job.id] })}>{t("common.go_back")}</a></p>
        <h2>{before === null ? t("planner.new_job") : t("planner.change_job", { id: before.job.id })}</h2>
        <div class="form-grid">
          <Text label={t("planner.id")} hint={t("planner.id_hint")} value={draft.id} onChange={(id) => set({ id })} faults={at("/id")} disabled={before !== null} name="id" />
          <Text label={t("planner.title")} value={draft.title} onChange={(title) => set({ title })} faults={at("/title")} name="title" wide />
          <Text label={t("planner.source")} hint={t("planner.source_hint")} value={draft.source} onChange={(source) => set({ source })} faults={at("/source")} name="source" wide />
          <Choice label={t("planner.press_optional")} value={draft.press} onChange={(press) => set({ press })} faults={at("/press")} name="press"
            options={[["", t("planner.any_press")], ...(desk.library?.presses ?? []).map((id): Option => [id, id])]} />
          <Quantity label={t("planner.loss")} value={draft.loss} units={length_units} onChange={(loss) => set({ loss })} faults={at("/cutting/loss")} name="loss" />
          <Quantity label={t("planner.tolerance")} value={draft.tolerance} units={length_units} onChange={(tolerance) => set({ tolerance })} faults={at("/cutting/tolerance")} name="tolerance" />
        </div>
        <details class="optional" open={faults.some((fault) => /^\/(spares|destructive_samples)/.test(fault.place)) || undefined}>
          <summary>{t("planner.spares_and_samples")}</summary>
          <div class="form-grid">
            <Text label={t("planner.spare_rope")} value={draft.spare_rope} onChange={(spare_rope) => set({ spare_rope })} faults={at("/spares/rope")} name="spare_rope" />
            <Text label={t("planner.spare_terminals")} value={draft.spare_terminals} onChange={(spare_terminals) => set({ spare_terminals })} faults={at("/spares/terminals")} name="spare_terminals" />
            <Text label={t("planner.samples_each")} value={draft.samples} onChange={(samples) => set({ samples })} faults={at("/destructive_samples/per_recipe")} name="samples" />
            <Quantity label={t("planner.sample_length")} value={draft.sample_length} units={length_units} onChange={(sample_length) => set({ sample_length })} faults={at("/destructive_samples/free_length")} name="sample_length" />
          </div>
        </details>
        {draft.lines.map((line, index) => (
          <Line key={index} at={index} line={line} library={desk.library} faults={faults} onChange={(part) => set_line(index, part)}
            onRemove={draft.lines.length > 1 ? () => set({ lines: draft.lines.filter((_, other) => other !== index) }) : null} />
        ))}
        <div class="button-row">
          <button type="button" class="button" onClick={() => set({ lines: [...draft.lines, empty_line(length_unit_now())] })}>{t("planner.add_line")}</button>
          <button type="submit" class={`button ${current && checked.good ? "" : "primary"}`}>{t("planner.plan_it")}</button>
          {current && checked.good && <button type="button" class="button primary" data-keep disabled={busy} onClick={() => void keep()}>{before === null ? t("planner.put_on_record") : t("planner.put_change_on_record")}</button>}
        </div>
        <div role="status">
          {faults.length > 0 && <p class="fault">{t("planner.faults_count", { count: faults.length })}</p>}
          {elsewhere.length > 0 && <ul>{elsewhere.map((fault) => <li class="fault" key={fault.place + fault.found}>{t("planner.at_place", { place: place_words(fault.place) })} {fault_words(fault)}</li>)}</ul>}
        </div>
        <Refusal trouble={trouble} />
      </form>
      {checked !== null && checked.plan !== null && <PlanTold plan={checked.plan} />}
    </main>
  );
}

/** A job that could not be kept: its id is taken, or somebody has changed it meanwhile. */
function Refusal({ trouble }: { trouble: Trouble | null }) {
  if (trouble?.kind === "problem" && trouble.status === 409)
    return <p class="fault" role="alert">{t("planner.not_kept")} {fault_words(trouble.problem)}</p>;
  return <TroubleBox trouble={trouble} />;
}

function fault_words(fault: Problem): string {
  if (fault.found.startsWith("no key ")) return t("planner.not_said");
  return t("planner.found_expected", { found: fault.found, expected: fault.expected });
}

function shown_places(draft: Draft): string[] {
  return [
    "/id", "/title", "/source", "/press", "/cutting/loss", "/cutting/tolerance", "/spares/rope", "/spares/terminals", "/destructive_samples/per_recipe",
    "/destructive_samples/free_length",
    ...draft.lines.flatMap((line, at) => [
      ...["mark", "quantity", "rope", "pin_to_pin", "tension", "prestretched", "length_tolerance"].map((name) => `/assemblies/${at}/${name}`),
      ...line.ends.flatMap((end, which) => (end.made === "swaged" ? ["made", "recipe"] : ["made", "what", "deduction", "insertion", "uncertainty", "source"])
        .map((name) => `/assemblies/${at}/ends/${which}/${name}`)),
    ]),
  ];
}

type Option = readonly [value: string, text: string];

function Line(props: { at: number; line: DraftLine; library: Library | null; faults: readonly Problem[]; onChange: (part: Partial<DraftLine>) => void; onRemove: (() => void) | null }) {
  const { line, library } = props;
  const place = `/assemblies/${props.at}`;
  const at = (name: string) => props.faults.filter((fault) => fault.place === `${place}/${name}`);
  const ropes: Option[] = (library?.ropes ?? []).map((rope) => [rope.id, `${rope.id}: ${rope.construction}, ${rope.nominal_diameter_mm} mm, ${rope.minimum_breaking_force_kn} kN`]);
  const set_end = (which: 0 | 1, part: Partial<DraftEnd>) => {
    const ends: [DraftEnd, DraftEnd] = [line.ends[0], line.ends[1]];
    ends[which] = { ...ends[which], ...part };
    props.onChange({ ends });
  };
  const prestretched = (value: boolean, text: string) => (
    <button type="button" class="choice" aria-pressed={line.prestretched === value} onClick={() => props.onChange({ prestretched: value })}><span>{text}</span></button>
  );
  return (
    <fieldset class="job-line" data-form-line={props.at}>
      <legend><h3>{t("planner.line_number", { number: props.at + 1 })}</h3></legend>
      <div class="form-grid">
        <Text label={t("planner.mark")} hint={t("planner.mark_hint")} value={line.mark} onChange={(mark) => props.onChange({ mark })} faults={at("mark")} name={`mark-${props.at}`} />
        <Text label={t("planner.quantity")} value={line.quantity} onChange={(quantity) => props.onChange({ quantity })} faults={at("quantity")} name={`quantity-${props.at}`} numeric />
        <Choice label={t("planner.rope")} value={line.rope} onChange={(rope) => props.onChange({ rope })} faults={at("rope")} name={`rope-${props.at}`} options={[["", t("planner.choose")], ...ropes]} wide />
        <Quantity label={t("planner.pin_to_pin")} value={line.pin_to_pin} units={length_units} onChange={(pin_to_pin) => props.onChange({ pin_to_pin })} faults={at("pin_to_pin")} name={`length-${props.at}`} />
        <Quantity label={t("planner.tension_at")} value={line.tension} units={force_units} onChange={(tension) => props.onChange({ tension })} faults={at("tension")} name={`tension-${props.at}`} />
        <Quantity label={t("planner.length_tolerance")} value={line.length_tolerance} units={length_units} onChange={(length_tolerance) => props.onChange({ length_tolerance })} faults={at("length_tolerance")} name={`length-tolerance-${props.at}`} />
        <fieldset class="field">
          <legend>{t("planner.prestretched")}</legend>
          <div class="choice-row">{prestretched(true, t("planner.yes"))}{prestretched(false, t("planner.no"))}</div>
          <Faults faults={at("prestretched")} id={`prestretched-${props.at}`} />
        </fieldset>
      </div>
      <div class="two-ends">
        {([0, 1] as const).map((which) => (
          <End key={which} which={which} end={line.ends[which]} rope={line.rope} library={library} place={`${place}/ends/${which}`} faults={props.faults}
            onChange={(part) => set_end(which, part)} name={`${props.at}-${which}`}
            onSame={which === 1 ? () => props.onChange({ ends: [line.ends[0], { ...line.ends[0] }] }) : null} />
        ))}
      </div>
      {props.onRemove !== null && <button type="button" class="button" onClick={props.onRemove}>{t("planner.remove_line", { number: props.at + 1 })}</button>}
    </fieldset>
  );
}

function End(props: {
  which: 0 | 1; end: DraftEnd; rope: string; library: Library | null; place: string; faults: readonly Problem[]; name: string;
  onChange: (part: Partial<DraftEnd>) => void; onSame: (() => void) | null;
}) {
  const { end, library } = props;
  const at = (name: string) => props.faults.filter((fault) => fault.place === `${props.place}/${name}`);
  // Released recipes of this rope first come, all others may still be chosen: the station says why one does not fit.
  const released = (library?.recipes ?? []).filter((recipe) => recipe.status === "released");
  const fitting = released.filter((recipe) => props.rope === "" || recipe.rope === props.rope);
  const recipe_text = (id: string) => {
    const recipe = released.find((one) => one.id === id);
    const terminal = library?.terminals.find((one) => one.id === recipe?.terminal);
    return recipe === undefined ? id : `${recipe.terminal}${terminal?.end == null ? "" : `, ${terminal.end}`} (${id} r${recipe.revision})`;
  };
  const options: Option[] = [["", t("planner.choose")], ...fitting.map((recipe): Option => [recipe.id, recipe_text(recipe.id)])];
  if (end.recipe !== "" && !fitting.some((recipe) => recipe.id === end.recipe)) options.push([end.recipe, t("planner.not_this_rope", { recipe: end.recipe })]);
  const made: Option[] = [["swaged", t("planner.made_swaged")], ["hand_fitted", t("planner.made_hand_fitted")], ["made_elsewhere", t("planner.made_elsewhere")]];
  return (
    <fieldset class="job-end" data-end={props.which}>
      <legend>{props.which === 0 ? t("planner.end_a") : t("planner.end_b")}</legend>
      <Choice label={t("planner.made")} value={end.made} onChange={(value) => props.onChange({ made: value, ...(value === "swaged" ? {} : { recipe: "" }) })} faults={at("made")} name={`made-${props.name}`} options={made} />
      {end.made === "swaged" ? (
        <>
          <Choice label={t("planner.terminal")} value={end.recipe} onChange={(recipe) => props.onChange({ recipe })} faults={at("recipe")} name={`recipe-${props.name}`} options={options} />
          {props.rope !== "" && fitting.length === 0 && library !== null && <p class="hint">{t("planner.no_recipe_for_rope")}</p>}
        </>
      ) : (
        <>
          <p class="hint">{t("planner.given_means")}</p>
          <Text label={t("planner.what_it_is")} value={end.what} onChange={(what) => props.onChange({ what })} faults={at("what")} name={`what-${props.name}`} />
          <Quantity label={t("planner.deduction")} value={end.deduction} units={length_units} onChange={(deduction) => props.onChange({ deduction })} faults={at("deduction")} name={`deduction-${props.name}`} />
          <Quantity label={t("planner.insertion")} value={end.insertion} units={length_units} onChange={(insertion) => props.onChange({ insertion })} faults={at("insertion")} name={`insertion-${props.name}`} />
          <Quantity label={t("planner.given_uncertainty")} value={end.uncertainty} units={length_units} onChange={(uncertainty) => props.onChange({ uncertainty })} faults={at("uncertainty")} name={`uncertainty-${props.name}`} />
          <Text label={t("planner.given_source")} value={end.source} onChange={(source) => props.onChange({ source })} faults={at("source")} name={`source-${props.name}`} />
        </>
      )}
      {props.onSame !== null && <button type="button" class="button" onClick={props.onSame}>{t("planner.same_as_a")}</button>}
    </fieldset>
  );
}

interface FieldProps { label: string; faults: readonly Problem[]; name: string; hint?: string; wide?: boolean }

/** `instead`: what to say in place of the station's words, where nothing was chosen yet. */
function Faults({ faults, id, instead }: { faults: readonly Problem[]; id: string; instead?: string | undefined }) {
  return <span class="field-faults" id={`faults-${id}`}>{faults.map((fault) => <span class="fault" key={fault.found + fault.expected}>{instead ?? fault_words(fault)}</span>)}</span>;
}

function described(props: FieldProps) {
  return { "aria-invalid": props.faults.length > 0, "aria-describedby": `faults-${props.name}` };
}

function Text(props: FieldProps & { value: string; onChange: (text: string) => void; disabled?: boolean; numeric?: boolean }) {
  return (
    <div class={props.wide ? "field wide" : "field"}>
      <label class="field"><span>{props.label}</span>
        <input type="text" name={props.name} value={props.value} disabled={props.disabled} autocomplete="off" spellcheck={false} maxLength={1000}
          inputMode={props.numeric ? "numeric" : "text"} {...described(props)} onInput={(event) => props.onChange(event.currentTarget.value)} />
      </label>
      {props.hint !== undefined && <small class="hint">{props.hint}</small>}
      <Faults faults={props.faults} id={props.name} />
    </div>
  );
}

function Choice(props: FieldProps & { value: string; onChange: (value: string) => void; options: readonly Option[] }) {
  return (
    <div class={props.wide ? "field wide" : "field"}>
      <label class="field"><span>{props.label}</span>
        <select name={props.name} value={props.value} {...described(props)} onChange={(event) => props.onChange(event.currentTarget.value)}>
          {props.options.map(([value, text]) => <option key={value} value={value}>{text}</option>)}
        </select>
      </label>
      <Faults faults={props.faults} id={props.name} instead={props.value === "" ? t("planner.choose_one") : undefined} />
    </div>
  );
}

function Quantity(props: FieldProps & { value: Amount; units: readonly string[]; onChange: (value: Amount) => void }) {
  const units = props.units.includes(props.value.unit) ? props.units : [...props.units, props.value.unit];
  return (
    <div class="field">
      <div class="quantity">
        <label class="field"><span>{props.label}</span>
          <input type="text" name={props.name} value={props.value.value} autocomplete="off" inputMode="decimal" maxLength={40} {...described(props)}
            onInput={(event) => props.onChange({ ...props.value, value: event.currentTarget.value })} />
        </label>
        <select aria-label={t("planner.unit_of", { name: props.label })} name={`${props.name}-unit`} value={props.value.unit} onChange={(event) => props.onChange({ ...props.value, unit: event.currentTarget.value })}>
          {units.map((unit) => <option key={unit} value={unit}>{unit}</option>)}
        </select>
      </div>
      <Faults faults={props.faults} id={props.name} />
    </div>
  );
}
