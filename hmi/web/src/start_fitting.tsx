// Start a fitting: job line, recipe, lots. The job line and choices of the last fitting are kept for the next one of the
// same job; the station decides again on every one of them.
import { useState } from "preact/hooks";
import { api, type Library, type Lot, type RecipeLine } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { many, t } from "./messages";
import { recall, remember } from "./memory";
import { ScanBox } from "./scan_box";
import { useDesk } from "./session";
import { TextPad } from "./text_pad";

export function StartFitting({ driven_by, onStarted }: { driven_by: string; onStarted: () => void }) {
  const desk = useDesk();
  const library = desk.library;
  if (library === null) {
    return <section class="card"><h2>{t("operator.start_title")}</h2><p class="hint">{desk.library_missing ? t("operator.register_missing") : t("operator.register_awaited")}</p></section>;
  }
  if (driven_by !== "") {
    return <section class="card"><h2>{t("operator.start_title")}</h2><p class="hint">{t("operator.driven_elsewhere", { name: driven_by })}</p></section>;
  }
  return <StartForm library={library} onStarted={onStarted} />;
}

function StartForm({ library, onStarted }: { library: Library; onStarted: () => void }) {
  const desk = useDesk();
  const [job, setJob] = useState(recall("start.job") ?? "");
  const [recipe_id, setRecipe] = useState(() => known(library.recipes, recall("start.recipe")));
  const [rope_lot, setRopeLot] = useState(() => known(library.rope_lots, recall("start.rope_lot")));
  const [terminal_lot, setTerminalLot] = useState(() => known(library.terminal_lots, recall("start.terminal_lot")));
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  const recipe = library.recipes.find((line) => line.id === recipe_id);
  const choose_recipe = (id: string) => {
    setRecipe(id);
    const chosen = library.recipes.find((line) => line.id === id);
    if (chosen === undefined) return;
    setRopeLot(only_lot(library.rope_lots, chosen.rope));
    setTerminalLot(only_lot(library.terminal_lots, chosen.terminal));
  };
  const missing = [
    job.trim() === "" ? t("operator.the_job") : "", recipe_id === "" ? t("operator.the_recipe") : "",
    rope_lot === "" ? t("operator.the_rope_lot") : "", terminal_lot === "" ? t("operator.the_terminal_lot") : "",
  ].filter((text) => text !== "");

  const start = async () => {
    setBusy(true);
    setTrouble(null);
    const body = { job: job.trim(), recipe: recipe_id, rope_lot, terminal_lot };
    const outcome = await api.start(body);
    setBusy(false);
    desk.took_answer(outcome);
    if (outcome.kind === "taken") {
      remember("start.job", body.job);
      remember("start.recipe", recipe_id);
      remember("start.rope_lot", rope_lot);
      remember("start.terminal_lot", terminal_lot);
      onStarted();
    } else {
      setTrouble(outcome);
    }
  };

  return (
    <section class="card start">
      <h2>{t("operator.start_title")}</h2>
      <ScanBox onJob={(scanned, its_recipe) => {
        setJob(scanned);
        if (its_recipe !== null && library.recipes.some((line) => line.id === its_recipe)) choose_recipe(its_recipe);
      }} />
      <TroubleBox trouble={trouble} />
      <form onSubmit={(event) => { event.preventDefault(); if (missing.length === 0 && !busy) void start(); }}>
        <TextPad label={t("operator.job")} value={job} onChange={setJob} name="job" />
        <label class="field">
          <span>{t("operator.recipe")}</span>
          <select name="recipe" value={recipe_id} onChange={(event) => choose_recipe(event.currentTarget.value)}>
            <option value="">{t("operator.choose_recipe")}</option>
            {library.recipes.map((line) => <option key={line.id} value={line.id}>{recipe_text(line)}</option>)}
          </select>
        </label>
        {recipe !== undefined && (
          <p class="hint">{t("operator.recipe_says", { rope: recipe.rope, terminal: recipe.terminal, die_pair: recipe.die_pair, press: recipe.press })}</p>
        )}
        <div class="two-fields">
          <LotField label={t("operator.rope_lot")} name="rope_lot" lots={library.rope_lots} of={recipe?.rope} chosen={rope_lot} onChoose={setRopeLot} />
          <LotField label={t("operator.terminal_lot")} name="terminal_lot" lots={library.terminal_lots} of={recipe?.terminal} chosen={terminal_lot} onChoose={setTerminalLot} />
        </div>
        <button type="submit" class="button primary huge" disabled={busy || missing.length > 0}>{t("operator.start")}</button>
        <p class="hint" role="status">{missing.length > 0 ? t("operator.still_wanted", { list: missing.join(", ") }) : t("operator.ready_to_start")}</p>
      </form>
      {library.faults.length > 0 && (
        <details class="register-faults">
          <summary>{many(library.faults.length, "operator.one_fault", "operator.faults")}</summary>
          <ul>{library.faults.map((fault) => <li key={fault.place + fault.found}>{t("operator.fault_line", { place: fault.place, found: fault.found, expected: fault.expected })}</li>)}</ul>
        </details>
      )}
    </section>
  );
}

function recipe_text(line: RecipeLine): string {
  const named = { id: line.id, revision: line.revision };
  return line.status === "released" ? t("operator.recipe_line", named) : t("operator.recipe_line_status", { ...named, status: line.status });
}

function known(lines: readonly { id: string }[], id: string | null): string {
  return id !== null && lines.some((line) => line.id === id) ? id : "";
}

/** The lot to take when only one free lot is of the wanted part. */
function only_lot(lots: readonly Lot[], of: string): string {
  const free = lots.filter((lot) => lot.of === of && !lot.quarantined);
  return free.length === 1 ? (free[0]?.id ?? "") : "";
}

/** Lots of the recipe's own part come first; others stay in the list, so that a wrong label is found out and refused. */
function LotField(props: { label: string; name: string; lots: readonly Lot[]; of: string | undefined; chosen: string; onChoose: (id: string) => void }) {
  const fits = (lot: Lot) => props.of === undefined || lot.of === props.of;
  const sorted = [...props.lots].sort((a, b) => Number(fits(b)) - Number(fits(a)) || a.id.localeCompare(b.id));
  const note = (lot: Lot) => {
    const named = lot.quarantined ? t("operator.lot_quarantined", { lot: lot.id }) : lot.id;
    return fits(lot) ? named : t("operator.lot_of", { lot: named, other: lot.of });
  };
  return (
    <label class="field">
      <span>{props.label}</span>
      <select name={props.name} value={props.chosen} onChange={(event) => props.onChoose(event.currentTarget.value)}>
        <option value="">{t("operator.choose_lot")}</option>
        {sorted.map((lot) => <option key={lot.id} value={lot.id}>{note(lot)}</option>)}
      </select>
    </label>
  );
}
