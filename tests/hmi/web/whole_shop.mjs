// An operator at the page of a real station, with the part at the bench of a simulated press: does what the page asks.
import { by_next } from "./hands.mjs";
import { until, wait } from "./real_shop.mjs";

export const work = { job: "Demo job 12", recipe: "straight-shank-3-16-7x19", rope_lot: "RL-1004", terminal_lot: "TL-1004" };
const gauges = {
  rope_diameter: "caliper-1", shank_diameter: "micrometer-1", bore_depth: "depth-rod-1", depth_mark: "rule-1", boundary_mark: "rule-1",
  insertion: "rule-1", position: "rule-1", growth: "caliper-1", slip: "caliper-1", straightness: "straight-edge-1",
  across_flats: "micrometer-1", turn: "protractor-1", reseated: "protractor-1",
};
const mm = (value) => `${value.toFixed(3)} mm`;

/** By touch: a finger on the panel. */
export class Touch {
  constructor(page) { this.page = page; }
  async press(locator) { await locator.first().tap(); }
  async type(index, text) {
    if (index > 0) await this.press(this.page.locator('[data-key="next"]'));
    for (const letter of text) await this.press(this.page.locator(`[data-key="${letter}"]`));
  }
  async fill(locator, text) { await locator.fill(text); }
  async choose(locator, value) { await locator.selectOption(value); }
}

/** By keyboard alone: what cannot be reached with Tab cannot be pressed. */
export class Keyboard {
  constructor(page) { this.page = page; }
  async reach(locator) {
    const target = await locator.first().elementHandle();
    const focused = () => this.page.evaluate((element) => document.activeElement === element, target);
    for (let steps = 0; steps < 150; ++steps) {
      if (await focused()) return;
      await this.page.keyboard.press("Tab");
    }
    throw new Error(`the keyboard never reaches ${locator}`);
  }
  async press(locator) {
    await this.reach(locator);
    await this.page.keyboard.press("Enter");
  }
  async type(index, text) {
    await this.reach(this.page.locator(".readings input").nth(index));
    await this.page.keyboard.type(text);
  }
  async fill(locator, text) {
    await this.reach(locator);
    await this.page.keyboard.type(text);
  }
  async choose(locator, value) {
    await this.reach(locator);
    const label = await locator.locator(`option[value="${value}"]`).textContent();
    await this.page.keyboard.type(label); // a list jumps to what is typed
    await until(async () => (await locator.inputValue()) === value, `${value} chosen by typing`, 5000);
  }
}

export class Operator {
  constructor(shop, page, means = new Touch(page)) { Object.assign(this, { shop, page, means }); }

  button(name) { return this.page.getByRole("button", { name, exact: true }); }

  async sign_in(id, pin) {
    const tile = this.page.locator(`[data-person="${id}"]`);
    const other = this.page.getByRole("button", { name: "Somebody else" });
    await tile.or(other).first().waitFor();
    if (await other.isVisible()) await this.means.press(other);
    await this.means.press(tile);
    await until(() => this.page.evaluate(() => document.activeElement?.getAttribute("name") === "pin"), "the field for the PIN in focus");
    if (this.means instanceof Keyboard) await this.page.keyboard.type(pin);
    else for (const digit of pin) await this.means.press(this.page.locator(`[data-pin-key="${digit}"]`));
    await this.means.press(this.button("Sign in"));
    await this.button("Sign out").waitFor();
  }

  async start(order = work) {
    const job = this.page.locator('input[name="job"]');
    const next = this.page.getByRole("button", { name: /^Start (another|the next) fitting$/ }); // what ended stays in view until then
    await job.or(next).first().waitFor();
    if (await next.isVisible()) await this.means.press(next);
    await this.means.fill(job, order.job);
    await this.means.choose(this.page.locator('select[name="recipe"]'), order.recipe);
    await this.page.locator(`select[name="rope_lot"] option[value="${order.rope_lot}"]`).waitFor({ state: "attached" });
    for (const lot of ["rope_lot", "terminal_lot"]) {
      const list = this.page.locator(`select[name="${lot}"]`);
      if ((await list.inputValue()) !== order[lot]) await this.means.choose(list, order[lot]);
    }
    await this.means.press(this.button("Start"));
    await by_next(this.page, "measure_rope").waitFor();
    const { active } = await this.shop.state();
    this.serial = active.serial;
    const { recipes } = await this.shop.expect(200, "GET", "/library");
    await this.shop.take_part(order.recipe, recipes.find((recipe) => recipe.id === order.recipe).die_pair, active.limits);
    return active;
  }

  fitting() { return this.shop.fitting(this.serial); }

  /** Gives what an instrument read. */
  async record(fitting, { numbers, gauge }) {
    const { input } = fitting.next;
    for (const [index, text] of numbers.entries()) await this.means.type(index, text.replace(/^[+-]/, ""));
    const sides = this.page.locator(".sides .choice");
    if (await sides.count() > 0 && Number(numbers[0]) !== 0) await this.means.press(sides.nth(Number(numbers[0]) < 0 ? 1 : 0));
    const offered = this.page.locator(`[data-gauge="${gauge}"]`);
    if (gauge && (await offered.count()) > 0 && (await offered.getAttribute("aria-pressed")) !== "true") await this.means.press(offered);
    await this.means.press(this.button("Record"));
    return input;
  }

  async measure(fitting) {
    const { input, readings } = fitting.next;
    const read = await this.shop.read(input, gauges[input], input === "across_flats" ? undefined : readings || undefined);
    await this.record(fitting, { numbers: read.numbers, gauge: gauges[input] });
  }

  async decide(result) {
    await this.means.press(this.page.locator(`[data-result="${result}"]`));
    await this.means.press(this.button("Record"));
  }

  /** One step, done as the page asks. Gives the fitting after it. */
  async step() {
    const fitting = await this.fitting();
    const { code, input } = fitting.next;
    // The page shows the step before anybody can do it.
    if (!["wait_for_record", "press_both_hands", "wait_for_dies"].includes(code)) await by_next(this.page, code).waitFor({ timeout: 10_000 });
    const bore = fitting.evidence?.bore_depth_mm ?? 0;
    switch (code) {
      case "mark_depth": await this.shop.bench("mark", { which: "depth", aimed: mm(bore) }); await this.measure(fitting); break;
      case "mark_boundary": await this.shop.bench("mark", { which: "boundary", aimed: mm(bore) }); await this.measure(fitting); break;
      case "check_insertion": await this.shop.bench("insert", { short_by: mm(0) }); await this.measure(fitting); break;
      case "set_position":
        await this.shop.bench("position", { edge: mm(fitting.planned_edge_mm) });
        this.first_edge_mm ??= fitting.planned_edge_mm;
        await wait(150);
        await this.measure(fitting);
        break;
      case "ask_permit": await this.means.press(this.page.getByRole("button", { name: "Ask for one bite" })); break;
      case "press_both_hands": case "wait_for_dies": case "wait_for_record": await this.press_down(); break;
      case "quarter_turn": case "prove_angle": await this.shop.bench("turn", { by: "90.0 deg" }); await wait(150); await this.angle(fitting); break;
      case "reseat": await this.shop.bench("position", { edge: mm(this.first_edge_mm) }); await wait(150); await this.angle(fitting); break;
      case "judge": await this.means.press(this.button("Give the verdict")); break;
      case "clear_fault": await this.means.press(this.button("Clear the press fault")); break; // what another's fitting left
      case "release": await this.means.press(this.button("Release this fitting")); break;
      case "resume": await this.means.press(this.button("Take it up again")); break;
      case "gauge_go": await this.shop.bench("take_out"); await this.decide((await this.shop.bench("measure", { kind: input, gauge: "" })).result); break;
      default:
        if (input === "go_gauge" || input === "no_go_gauge" || input === "surface") await this.decide((await this.shop.bench("measure", { kind: input })).result);
        else if (input !== "") await this.measure(fitting);
        else throw new Error(`the station asks for something unknown: ${code}`);
    }
    return this.moved(fitting);
  }

  async angle(fitting) {
    const record = this.page.getByRole("button", { name: "Record this angle" });
    if (await record.isVisible()) await this.means.press(record);
    else await this.measure(fitting);
  }

  /** Both hands on until the bite is over. `during` is called once while the dies close. */
  async press_down(during) {
    const open = (stage) => ["permit_recorded", "permit_given", "biting"].includes(stage);
    await until(async () => (await this.shop.state()).press.phase === "permitted" || !open((await this.fitting()).stage), "a permitted press");
    await this.shop.bench("hands", { on: true });
    try {
      if (during) {
        await until(async () => (await this.fitting()).stage === "biting", "a bite under way");
        await during();
      } else {
        await until(async () => !open((await this.fitting()).stage), "the end of the bite", 60_000);
      }
    } finally {
      await this.shop.bench("hands", { on: false });
    }
  }

  /** The fitting once the station has gone on from `before`. */
  async moved(before) {
    const key = (fitting) => JSON.stringify([fitting.stage, fitting.next, fitting.evidence, fitting.bites_done, fitting.standing, fitting.changed_utc_us]);
    const was = key(before);
    return until(async () => { const now = await this.fitting(); return key(now) !== was ? now : null; }, `anything after ${before.next.code}`);
  }

  /** Goes on until the fitting asks for `code`, or its stage is one of `stages`. */
  async work_until({ code = "", stages = ["released", "scrapped", "hold"] }) {
    for (let steps = 0; steps < 150; ++steps) {
      const fitting = await this.fitting();
      if (fitting.next.code === code || stages.includes(fitting.stage)) return fitting;
      await this.step();
    }
    throw new Error("no end in 150 steps");
  }
}
