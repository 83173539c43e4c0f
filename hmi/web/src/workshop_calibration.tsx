// Force calibration, led step by step. The station says what is asked for next and what has been read; this page shows it,
// with the press live beside it. Nothing is filled in beforehand.
import { useEffect, useState } from "preact/hooks";
import type { Outcome, Press } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import type { LivePicture } from "./live";
import { t } from "./messages";
import { NumberPad, typed } from "./number_pad";
import { PinPad } from "./pin_pad";
import { useDesk } from "./session";
import { Sign } from "./signs";
import { TextPad } from "./text_pad";
import { fixed, gap_text, useLengthUnit } from "./units";
import { workshop_api, type Asked, type Calibrating, type ForceCalibration } from "./workshop_api";
import { Result } from "./workshop_result";
import { class_words, kn, minute, percent } from "./workshop_words";

export type Act = (request: Promise<Outcome<Calibrating>>) => void;

export function Calibration({ picture }: { picture: LivePicture }) {
  const desk = useDesk();
  const [now, setNow] = useState<Calibrating | null>(null);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const took = (outcome: Outcome<Calibrating>) => {
    desk.took_answer(outcome);
    if (outcome.kind === "taken") setNow(outcome.body);
    setTrouble(outcome.kind === "taken" ? null : outcome);
  };
  useEffect(() => { void workshop_api.calibration().then(took); }, []);
  const act: Act = (request) => {
    setBusy(true);
    void request.then((outcome) => { setBusy(false); took(outcome); });
  };
  if (now === null) return <section class="card"><h2>{t("technician.calibration_title")}</h2><TroubleBox trouble={trouble} /><p class="hint" role="status">{t("technician.asking")}</p></section>;
  const may = desk.person?.roles.includes("technician") ?? false;
  const old = picture.stale || picture.station?.press.fresh !== true;
  return (
    <div class="workshop-columns calibrating">
      <section class="card lead">
        <h2>{t("technician.calibration_title")}</h2>
        <Until now={now} />
        <TroubleBox trouble={trouble} />
        {!may && <p class="hint">{t("technician.needs_technician")}</p>}
        {may && now.running === null && <Begin now={now} busy={busy} act={act} />}
        {may && now.running !== null && now.asked !== null && (
          <Step now={now} running={now.running} asked={now.asked} press={picture.station?.press ?? null} old={old} busy={busy} act={act} />
        )}
      </section>
      <section class="card">
        {now.running !== null ? <Readings now={now} running={now.running} /> : <Earlier earlier={now.earlier} />}
      </section>
    </div>
  );
}

function Until({ now }: { now: Calibrating }) {
  const source = now.due_from === "record" ? t("technician.due_by_record") : t("technician.due_by_register");
  return (
    <p class="with-sign" role="status" data-press-due={now.due ?? "none"}>
      <Sign meaning={now.due === null ? "danger" : "neutral"} size={24} />
      <span>{now.due === null ? t("technician.press_out") : t("technician.press_until", { press: now.press, day: now.due })} <small>{source}</small></span>
    </p>
  );
}

/** A number by pad or keyboard. */
function Entry(props: { label: string; unit: string; name: string; value: string; onChange: (text: string) => void; active: boolean; onActive: () => void; signed?: boolean }) {
  return (
    <label class={props.active ? "entry active" : "entry"}>
      <span>{props.label}</span>
      <span class="entry-line">
        <input type="text" name={props.name} inputMode="none" autocomplete="off" value={props.value} onFocus={props.onActive}
          onInput={(event) => props.onChange(event.currentTarget.value.replace(",", ".").replace(props.signed ? /[^0-9.−-]/g : /[^0-9.]/g, ""))} />
        <span class="entry-unit">{props.unit}</span>
      </span>
    </label>
  );
}

const is_number = (text: string) => text.trim() !== "" && Number.isFinite(Number(text));

function Begin({ now, busy, act }: { now: Calibrating; busy: boolean; act: Act }) {
  const [cell, setCell] = useState("");
  const [range, setRange] = useState("");
  const [resolution, setResolution] = useState("");
  const [needed, setNeeded] = useState("");
  const [preloaded, setPreloaded] = useState(false);
  const [active, setActive] = useState<"range" | "resolution">("range");
  const missing = [
    cell === "" ? t("technician.wants_cell") : "", is_number(range) ? "" : t("technician.wants_range"), is_number(resolution) ? "" : t("technician.wants_resolution"),
    needed === "" ? t("technician.wants_class") : "", preloaded ? "" : t("technician.wants_preload"),
  ].filter((text) => text !== "");
  return (
    <form class="calibration-form" onSubmit={(event) => {
      event.preventDefault();
      if (missing.length === 0) act(workshop_api.begin({ cell, range: `${range} kN`, resolution: `${resolution} kN`, class_needed: needed, steps: 5, preloaded }));
    }}>
      <p>{t("technician.begin_text")}</p>
      <fieldset>
        <legend>{t("technician.cell")}</legend>
        <div class="choice-row">
          {now.cells.length === 0 && <p class="hint">{t("technician.no_cell")}</p>}
          {now.cells.map((one) => (
            <button type="button" class="choice" key={one.id} data-cell={one.id} aria-pressed={cell === one.id} disabled={!one.in_date} onClick={() => setCell(one.id)}>
              <span>{one.id}</span>
              <small>{one.calibration_due === null ? t("technician.cell_unknown") : one.in_date ? t("technician.cell_until", { day: one.calibration_due, uncertainty: kn(one.expanded_uncertainty_kn, 2) }) : t("technician.cell_overdue", { day: one.calibration_due })}</small>
            </button>
          ))}
        </div>
      </fieldset>
      <div class="entry-pair">
        <div class="entries">
          <Entry label={t("technician.range", { most: kn(now.capacity_kn, 0) })} unit="kN" name="range" value={range} onChange={setRange} active={active === "range"} onActive={() => setActive("range")} />
          <Entry label={t("technician.resolution")} unit="kN" name="resolution" value={resolution} onChange={setResolution} active={active === "resolution"} onActive={() => setActive("resolution")} />
        </div>
        <NumberPad several onKey={(key) => {
          if (key === "next") setActive(active === "range" ? "resolution" : "range");
          else if (active === "range") setRange(typed(range, key));
          else setResolution(typed(resolution, key));
        }} />
      </div>
      <fieldset>
        <legend>{t("technician.class_needed")}</legend>
        <div class="choice-row">
          {(["0.5", "1", "2", "3"] as const).map((one) => (
            <button type="button" class="choice" key={one} data-class={one} aria-pressed={needed === one} onClick={() => setNeeded(one)}>
              <span>{t("technician.class_is", { name: one })}</span><small>{t("technician.class_error", { error: one })}</small>
            </button>
          ))}
        </div>
      </fieldset>
      <button type="button" class="choice" data-preloaded aria-pressed={preloaded} onClick={() => setPreloaded(!preloaded)}>
        <span>{t("technician.preloaded")}</span><small>{t("technician.preloaded_why")}</small>
      </button>
      <button type="submit" class="button primary record" disabled={busy || missing.length > 0}>{t("technician.begin")}</button>
      <p class="hint" role="status">{missing.length > 0 ? t("technician.still_wanted", { what: missing.join(", ") }) : t("technician.ready_begin")}</p>
    </form>
  );
}

function Step(props: { now: Calibrating; running: ForceCalibration; asked: Asked; press: Press | null; old: boolean; busy: boolean; act: Act }) {
  const { running, asked, act, busy } = props;
  const [leaving, setLeaving] = useState(false);
  const [again, setAgain] = useState<{ run: number; step: number } | null>(null);
  const total = (running.steps + 1) * Math.max(3, running.runs.length);
  const done = running.runs.reduce((sum, run) => sum + run.readings.length + (run.zero === null ? 0 : 1), 0);
  useEffect(() => setAgain(null), [done, running.discarded.length]);
  const target = again === null ? asked.target_kn : again.step === 0 ? 0 : props.now.targets_kn[again.step - 1] ?? 0;
  const at = again ?? { run: asked.run, step: asked.step };
  return (
    <div class="calibration-step" data-asked={asked.what}>
      <p class="hint">{t("technician.session_line", { cell: running.cell, range: kn(running.range_kn, 0), class: running.class_needed, done, total })}</p>
      <progress max={total} value={done} aria-label={t("technician.progress")} />
      {again === null && asked.what === "run" && <NextRun asked={asked} press={props.press} busy={busy} act={act} />}
      {again === null && asked.what === "finish" && <Finish now={props.now} running={running} busy={busy} act={act} />}
      {(again !== null || asked.what === "reading" || asked.what === "zero") && (
        <TakeReading key={`${at.run} ${at.step} ${again !== null}`} run={at.run} step={at.step} steps={running.steps} target_kn={target} again={again !== null}
          tolerance_kn={props.now.target_tolerance_share * running.range_kn} press={props.press} old={props.old} busy={busy} act={act} />
      )}
      {again === null && done > 0 && <Repeat running={running} onAgain={setAgain} />}
      {again !== null && <button type="button" class="button" onClick={() => setAgain(null)}>{t("technician.repeat_not")}</button>}
      {leaving ? <Leave busy={busy} act={act} onNo={() => setLeaving(false)} /> : <button type="button" class="button quiet" onClick={() => setLeaving(true)}>{t("technician.leave")}</button>}
    </div>
  );
}

function Repeat({ running, onAgain }: { running: ForceCalibration; onAgain: (at: { run: number; step: number }) => void }) {
  const [chosen, setChosen] = useState("");
  const options = running.runs.flatMap((run, r) => [
    ...run.readings.map((reading, s) => ({ key: `${r + 1} ${s + 1}`, text: t("technician.repeat_option", { run: r + 1, step: s + 1, error: percent(reading.error_percent) }) })),
    ...(run.zero === null ? [] : [{ key: `${r + 1} 0`, text: t("technician.repeat_zero", { run: r + 1 }) }]),
  ]);
  return (
    <div class="inline-form repeat">
      <label class="field">
        <span>{t("technician.repeat")}</span>
        <select name="repeat" value={chosen} onChange={(event) => setChosen(event.currentTarget.value)}>
          <option value="">{t("technician.repeat_choose")}</option>
          {options.map((option) => <option key={option.key} value={option.key}>{option.text}</option>)}
        </select>
      </label>
      <button type="button" class="button" disabled={chosen === ""} onClick={() => {
        const [run, step] = chosen.split(" ").map(Number);
        if (run !== undefined && step !== undefined) onAgain({ run, step });
      }}>{t("technician.repeat_do")}</button>
    </div>
  );
}

function NextRun({ asked, press, busy, act }: { asked: Asked; press: Press | null; busy: boolean; act: Act }) {
  const [angle, setAngle] = useState("");
  const [position, setPosition] = useState("");
  const unit = useLengthUnit();
  return (
    <form class="calibration-form" onSubmit={(event) => {
      event.preventDefault();
      if (angle !== "") act(workshop_api.begin_run({ cell_angle: `${angle} deg`, ...(is_number(position) ? { ram_position: `${position} ${unit}` } : {}) }));
    }}>
      <h3>{t("technician.run_title", { run: asked.run })}</h3>
      <p>{asked.run === 1 ? t("technician.run_first") : t("technician.run_next")}</p>
      <fieldset>
        <legend>{t("technician.cell_angle")}</legend>
        <div class="choice-row">
          {["0", "120", "240"].map((one) => (
            <button type="button" class="choice" key={one} data-angle={one} aria-pressed={angle === one} onClick={() => setAngle(one)}><span>{one}°</span></button>
          ))}
        </div>
      </fieldset>
      <div class="entry-pair">
        <div class="entries">
          <Entry label={t("technician.ram_position")} unit={unit} name="ram_position" value={position} onChange={setPosition} active onActive={() => undefined} />
          {press !== null && <p class="hint">{t("technician.gap_now", { gap: gap_text(press.gap_mm, unit) })}</p>}
        </div>
        <NumberPad several={false} onKey={(key) => setPosition(typed(position, key))} />
      </div>
      <button type="submit" class="button primary record" disabled={busy || angle === ""}>{t("technician.run_begin", { run: asked.run })}</button>
      <p class="hint" role="status">{angle === "" ? t("technician.still_wanted", { what: t("technician.cell_angle") }) : t("technician.ready_record")}</p>
    </form>
  );
}

function TakeReading(props: {
  run: number; step: number; steps: number; target_kn: number; tolerance_kn: number; again: boolean; press: Press | null; old: boolean; busy: boolean; act: Act;
}) {
  const [cell, setCell] = useState("");
  const [indicated, setIndicated] = useState("");
  const [by_hand, setByHand] = useState(false);
  const [active, setActive] = useState<"cell" | "indicated">("cell");
  const zero = props.step === 0;
  const force = props.press?.force_kn ?? null;
  const reached = force !== null && Math.abs(force - props.target_kn) <= props.tolerance_kn;
  const wants_cell = !zero && !is_number(cell);
  const wants_press = by_hand ? !is_number(indicated) : props.old || force === null || (!zero && !reached);
  const missing = [wants_cell ? t("technician.wants_reading") : "", wants_press ? (by_hand ? t("technician.wants_display") : t("technician.wants_force")) : ""].filter((text) => text !== "");
  const several = by_hand && !zero;
  const edited = zero || (several && active === "indicated") ? "indicated" : "cell";
  return (
    <form class="calibration-form" onSubmit={(event) => {
      event.preventDefault();
      if (missing.length > 0 || props.busy) return;
      props.act(workshop_api.reading({ run: props.run, step: props.step, ...(zero ? {} : { cell: `${cell} kN` }), ...(by_hand ? { indicated: `${indicated} kN` } : {}) }));
    }}>
      <h3>{zero ? t("technician.zero_reading_title", { run: props.run }) : t(props.again ? "technician.step_again" : "technician.step_title", { run: props.run, step: props.step, steps: props.steps })}</h3>
      <div class="target">
        <p class="big-number" data-target={fixed(props.target_kn, 1)}><span>{zero ? t("technician.take_force_off") : t("technician.go_to")}</span><b>{kn(props.target_kn)}</b>{!zero && <small>{t("technician.either_way", { by: kn(props.tolerance_kn) })}</small>}</p>
        <p class={props.old ? "big-number stale" : "big-number"} data-live><span>{props.old ? t("technician.press_old") : t("technician.press_indicates")}</span><b>{kn(force)}</b><small>{props.press === null ? "" : `${fixed(props.press.pressure_bar, 1)} bar`}</small></p>
      </div>
      {!by_hand && !zero && (
        <p class="with-sign" role="status"><Sign meaning={props.old ? "abnormal" : reached ? "normal" : "mandatory"} size={22} />
          {props.old ? t("technician.press_not_heard") : reached ? t("technician.reached") : force !== null && force > props.target_kn ? t("technician.too_high", { by: kn(force - props.target_kn) }) : t("technician.too_low", { by: kn(props.target_kn - (force ?? 0)) })}</p>
      )}
      <fieldset>
        <legend>{t("technician.indication_from")}</legend>
        <div class="choice-row">
          <button type="button" class="choice" data-source="station" aria-pressed={!by_hand} onClick={() => setByHand(false)}><span>{t("technician.from_station")}</span><small>{t("technician.from_station_why")}</small></button>
          <button type="button" class="choice" data-source="display" aria-pressed={by_hand} onClick={() => { setByHand(true); if (zero) setActive("indicated"); }}><span>{t("technician.from_display")}</span><small>{t("technician.from_display_why")}</small></button>
        </div>
      </fieldset>
      {(!zero || by_hand) && (
        <div class="entry-pair">
          <div class="entries">
            {by_hand && <Entry label={t("technician.display_reads")} unit="kN" name="indicated" value={indicated} onChange={setIndicated} active={edited === "indicated"} onActive={() => setActive("indicated")} signed />}
            {!zero && <Entry label={t("technician.cell_reads")} unit="kN" name="cell" value={cell} onChange={setCell} active={edited === "cell"} onActive={() => setActive("cell")} />}
          </div>
          <NumberPad several={several} onKey={(key) => {
            if (key === "next") setActive(active === "cell" ? "indicated" : "cell");
            else if (edited === "indicated") setIndicated(typed(indicated, key));
            else setCell(typed(cell, key));
          }} />
        </div>
      )}
      <button type="submit" class="button primary record" disabled={props.busy || missing.length > 0}>{t("technician.record_reading")}</button>
      <p class="hint" role="status">{missing.length > 0 ? t("technician.still_wanted", { what: missing.join(", ") }) : t("technician.ready_record")}</p>
    </form>
  );
}

/** What has been read, each error at once. */
function Readings({ now, running }: { now: Calibrating; running: ForceCalibration }) {
  const newest = running.runs.flatMap((run) => run.readings).reduce<string>((latest, reading) => (reading.at_utc > latest ? reading.at_utc : latest), "");
  return (
    <>
      <h2>{t("technician.readings_title")}</h2>
      <p class="hint">{t("technician.readings_hint")}</p>
      <div class="scroll" tabIndex={0} role="region" aria-label={t("technician.readings_title")}>
        <table class="rows readings-rows">
          <thead>
            <tr><th scope="col">{t("technician.target")}</th>{running.runs.map((run, at) => <th scope="col" key={at}>{t("technician.run_column", { run: at + 1, angle: fixed(run.cell_angle_deg, 0) })}</th>)}</tr>
          </thead>
          <tbody>
            {now.targets_kn.map((target, step) => (
              <tr key={target}>
                <th scope="row">{kn(target)}</th>
                {running.runs.map((run, at) => {
                  const reading = run.readings[step];
                  return (
                    <td key={at} class={reading?.at_utc === newest ? "newest" : undefined}>
                      {reading === undefined ? <span class="hint">–</span> : <><b data-error={`${at + 1} ${step + 1}`}>{percent(reading.error_percent)}</b><small>{kn(reading.indicated_kn)} / {kn(reading.cell_kn)}</small></>}
                    </td>
                  );
                })}
              </tr>
            ))}
            <tr><th scope="row">{t("technician.force_off")}</th>{running.runs.map((run, at) => <td key={at}>{run.zero === null ? <span class="hint">–</span> : kn(run.zero.indicated_kn, 2)}</td>)}</tr>
          </tbody>
        </table>
      </div>
      {running.discarded.length > 0 && <p class="hint">{t("technician.discarded", { count: running.discarded.length })}</p>}
      {running.runs.some((run) => run.readings.length > 0) && <Result calibration={running} targets={now.targets_kn} short />}
    </>
  );
}

function Finish({ now, running, busy, act }: { now: Calibrating; running: ForceCalibration; busy: boolean; act: Act }) {
  const [due, setDue] = useState("");
  const [pin, setPin] = useState("");
  const meets = running.meets;
  const missing = [meets && !/^\d{4}-\d\d-\d\d$/.test(due) ? t("technician.wants_due") : "", pin.length < 4 ? t("technician.wants_pin") : ""].filter((text) => text !== "");
  return (
    <form class="calibration-form" onSubmit={(event) => {
      event.preventDefault();
      if (missing.length > 0) return;
      setPin("");
      act(workshop_api.finish(meets ? due : null, pin));
    }}>
      <h3>{t("technician.finish_title")}</h3>
      <p class="with-sign big-line" role="status" data-class={running.result.class}>
        <Sign meaning={meets ? "normal" : "danger"} size={34} />
        <span><b>{class_words(running.result.class)}</b> {meets ? t("technician.class_met", { needed: running.class_needed }) : t("technician.class_not_met", { needed: running.class_needed })}</span>
      </p>
      {!running.result.ram_moved_between_runs && <p class="with-sign"><Sign meaning="abnormal" size={22} />{t("technician.ram_not_moved")}</p>}
      {meets && (
        <label class="field"><span>{t("technician.due_field", { latest: now.due_latest })}</span>
          <input type="text" name="due" inputMode="numeric" autocomplete="off" maxLength={10} value={due} onInput={(event) => setDue(event.currentTarget.value.trim())} />
        </label>
      )}
      {meets && (
        <div class="choice-row">
          {[6, 12].map((months) => (
            <button type="button" class="choice" key={months} data-months={months} aria-pressed={due === in_months(months, now.due_latest)} onClick={() => setDue(in_months(months, now.due_latest))}><span>{t("technician.in_months", { months })}</span></button>
          ))}
        </div>
      )}
      <PinPad label={t("technician.sign_pin")} value={pin} onChange={setPin} disabled={busy} />
      <button type="submit" class="button primary record" disabled={busy || missing.length > 0}>{t("technician.finish")}</button>
      <p class="hint" role="status">{missing.length > 0 ? t("technician.still_wanted", { what: missing.join(", ") }) : t("technician.ready_record")}</p>
    </form>
  );
}

/** So many months before or at the latest day that the station takes, which is a year and a day from today. */
function in_months(months: number, latest: string): string {
  const day = new Date(`${latest}T00:00:00Z`);
  day.setUTCDate(day.getUTCDate() - 1);
  if (months < 12) day.setUTCMonth(day.getUTCMonth() - (12 - months));
  return day.toISOString().slice(0, 10);
}

function Leave({ busy, act, onNo }: { busy: boolean; act: Act; onNo: () => void }) {
  const [reason, setReason] = useState("");
  return (
    <form class="calibration-form" onSubmit={(event) => { event.preventDefault(); if (reason.trim() !== "") act(workshop_api.leave(reason.trim())); }}>
      <TextPad label={t("technician.leave_reason")} value={reason} onChange={setReason} long />
      <div class="button-row">
        <button type="button" class="button" onClick={onNo}>{t("technician.leave_not")}</button>
        <button type="submit" class="button strong" disabled={busy || reason.trim() === ""}>{t("technician.leave_yes")}</button>
      </div>
    </form>
  );
}

function Earlier({ earlier }: { earlier: readonly ForceCalibration[] }) {
  const [open, setOpen] = useState(0);
  const shown = earlier[open];
  return (
    <>
      <h2>{t("technician.earlier_title")}</h2>
      {earlier.length === 0 && <p class="hint">{t("technician.earlier_none")}</p>}
      <ul class="earlier">
        {earlier.map((one, at) => (
          <li key={one.at_utc}>
            <button type="button" class="choice" aria-pressed={at === open} onClick={() => setOpen(at)}>
              <span class="with-sign"><Sign meaning={one.meets ? "neutral" : "danger"} size={20} />{minute(one.at_utc ?? null)}: {class_words(one.result.class)}</span>
              <small>{t("technician.earlier_line", { by: one.by ?? "", cell: one.cell, range: kn(one.range_kn, 0), due: one.due ?? t("technician.no_due") })}</small>
            </button>
          </li>
        ))}
      </ul>
      {shown !== undefined && <Result calibration={shown} targets={shown.result.steps.map((step) => step.indicated_kn)} />}
    </>
  );
}
