// The page as people meet it: the station's own program, a simulated press, and a browser. Goal: whole fittings by touch and
// by keyboard, every refusal in words, and honest screens when the link, the station or the person changes.
import assert from "node:assert/strict";
import { after, afterEach, before, test } from "node:test";
import { objections } from "./axe.mjs";
import { open_browser } from "./browser.mjs";
import { desk_screens, held_screens } from "./every_screen.mjs";
import { by_next } from "./hands.mjs";
import { RealShop, ask, pin, strict_recipe, until, wait } from "./real_shop.mjs";
import { Keyboard, Operator, Touch, work } from "./whole_shop.mjs";

const seed = Number(process.env.SEED ?? 1 + Math.floor(Math.random() * 1e6));
const panel = { viewport: { width: 1280, height: 800 }, hasTouch: true, acceptDownloads: true };
let shop, browser, close, complaints = [];
const contexts = [];

before(async () => {
  console.log(`seed ${seed}`);
  shop = await RealShop.open({ seed });
  ({ browser, close } = await open_browser());
});
after(async () => { await close?.(); await shop?.close(); });
afterEach(async () => {
  for (const one of contexts.splice(0)) {
    // PICTURES=FOLDER: what every screen showed when its test ended, to see why one failed.
    if (process.env.PICTURES) for (const [at, page] of one.pages().entries()) await page.screenshot({ path: `${process.env.PICTURES}/${Date.now()}-${at}.png`, fullPage: true });
    // A screen that only goes away holds the press for a while; who leaves signs out.
    for (const page of one.pages()) await page.evaluate(() => fetch("/api/v1/session", { method: "DELETE" }).catch(() => {}));
    await one.close();
  }
  await leave_no_fitting();
  complaints = [];
});

async function open_page(options = panel) {
  const context = await browser.newContext(options);
  contexts.push(context);
  const page = await context.newPage();
  page.setDefaultTimeout(20_000);
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("request", (request) => { if (!request.url().startsWith(shop.address)) complaints.push(`asked elsewhere: ${request.url()}`); });
  await page.goto(shop.address);
  return page;
}

/** Whatever a test left at the press is scrapped by the reviewer, so that the next begins with a free press. */
async function leave_no_fitting() {
  await shop.tidy_up();
  const { active, held, set_aside } = await shop.state();
  const [ada, cleo, eli] = [await shop.sign_in("ada"), await shop.sign_in("cleo"), await shop.sign_in("eli")];
  const open = active !== null && !["released", "scrapped"].includes(active.stage) ? [active.serial] : [];
  for (const serial of new Set([...open, ...held, ...set_aside])) {
    if (!held.includes(serial)) await shop.expect(200, "POST", `/fittings/${serial}/hold`, {}, ada);
    for (const reviewer of [cleo, eli]) { // the second where the recipe asks for two, whoever proposed before
      if ((await shop.fitting(serial)).stage === "scrapped") break;
      await shop.call("POST", `/fittings/${serial}/disposition`, { disposition: "scrap", reason: "end of a test (demo data)", pin }, reviewer);
    }
    if ((await shop.fitting(serial)).stage === "hold") await shop.expect(200, "POST", `/fittings/${serial}/disposition`, { disposition: "scrap", reason: "end of a test (demo data)", pin }, cleo);
  }
  if (active !== null) await shop.call("POST", "/press/clear-fault", {}, ada);
  for (const token of [ada, cleo, eli]) await shop.call("DELETE", "/session", undefined, token);
}

const code = (page, finding) => page.locator(`[data-code="${finding}"]`).first();
async function refused(page, finding, amount = /./) {
  await code(page, finding).waitFor();
  assert.match(await code(page, finding).innerText(), amount);
}

test("a whole fitting by touch: every screen on the way is sound to axe-core, and its certificate can be taken along", async () => {
  const page = await open_page();
  assert.deepEqual(await objections(page), [], "sign-in");
  const operator = new Operator(shop, page);
  await operator.sign_in("ada", pin);
  assert.deepEqual(await objections(page), [], "start");
  await operator.start();
  const seen = new Set();
  for (let fitting = await operator.fitting(); fitting.stage !== "released"; fitting = await operator.fitting()) {
    assert.ok(!["hold", "scrapped"].includes(fitting.stage), JSON.stringify(fitting.standing));
    const { code: next } = fitting.next;
    if (!seen.has(next) && next !== "wait_for_dies" && next !== "wait_for_record") {
      await by_next(page, next).waitFor();
      assert.deepEqual(await objections(page), [], `screen of ${next}`);
      seen.add(next);
    }
    await operator.step();
  }
  assert.ok(seen.size > 12, `screens seen: ${[...seen].join(" ")}`);
  await by_next(page, "done").waitFor();
  assert.deepEqual(await objections(page), [], "released");
  await page.goto(`${shop.address}/#/fitting/${operator.serial}`);
  const link = page.locator('a[href*="/certificate"]').first();
  await link.waitFor();
  assert.deepEqual(await objections(page), [], "dossier");
  const taken = await ask(new URL(await link.getAttribute("href"), shop.address));
  assert.equal(taken.type, "application/pdf");
  assert.equal(taken.bytes.subarray(0, 5).toString(), "%PDF-");
  assert.deepEqual(complaints, []);
});

test("a whole fitting by keyboard alone", async () => {
  const page = await open_page({ viewport: { width: 1280, height: 800 } });
  const operator = new Operator(shop, page, new Keyboard(page));
  await operator.sign_in("ada", pin);
  await operator.start();
  const end = await operator.work_until({});
  assert.equal(end.stage, "released", JSON.stringify(end.standing));
  assert.deepEqual(complaints, []);
});

test("what is wrong is refused in words: with what is missing, by how much, and what to do", async () => {
  const page = await open_page();
  const operator = new Operator(shop, page);
  const told = [];
  const expect = async (finding, amount) => { await refused(page, finding, amount); told.push(finding); };
  // Nobody whose qualification has run out, and no lot that is set apart.
  await operator.sign_in("ben", pin);
  await operator.start().catch(() => {});
  await expect("operator_not_qualified", /./);
  await operator.means.press(operator.button("Sign out"));
  await operator.sign_in("ada", pin);
  await operator.start({ ...work, rope_lot: "RL-0999" }).catch(() => {});
  await expect("rope_lot_quarantined", /RL-0999|quarantine/i);
  await operator.means.choose(page.locator('select[name="rope_lot"]'), work.rope_lot);
  await operator.means.press(operator.button("Start"));
  const active = await until(async () => (await shop.state()).active, "a fitting at the press");
  operator.serial = active.serial;
  const { recipes } = await shop.expect(200, "GET", "/library");
  const recipe = recipes.find((one) => one.id === work.recipe);
  await shop.take_part(work.recipe, recipe.die_pair, active.limits);

  const wrong = async (numbers) => { await by_next(page, (await operator.fitting()).next.code).waitFor(); await operator.record(await operator.fitting(), { numbers, gauge: undefined_gauge(await operator.fitting()) }); };
  const undefined_gauge = (fitting) => ({ rope_diameter: "caliper-1", shank_diameter: "micrometer-1", depth_mark: "rule-1", insertion: "rule-1", position: "rule-1" })[fitting.next.input];
  const clear = async (count) => { for (let at = 0; at < count; ++at) await page.locator(".readings input").nth(at).fill(""); };

  await wrong(["5.60", "5.61", "5.60"]);
  await expect("rope_diameter_out", /mm/);
  await clear(3);
  await operator.work_until({ code: "mark_depth" });
  await shop.bench("mark", { which: "depth", aimed: `${((await operator.fitting()).evidence.bore_depth_mm + 3).toFixed(3)} mm` });
  await wrong([((await operator.fitting()).evidence.bore_depth_mm + 3).toFixed(1)]);
  await expect("depth_mark_off", /mm/);
  await clear(1);
  await operator.work_until({ code: "check_insertion" });
  await shop.bench("insert", { short_by: "4.000 mm" });
  await wrong(["4.0"]);
  await expect("rope_not_home", /mm/);
  await clear(1);
  await operator.work_until({ code: "set_position" });
  await shop.bench("position", { edge: "-3.000 mm" });
  await wait(150);
  await wrong(["-3.0"]);
  await expect("die_over_solid", /mm/);
  await clear(1);
  await operator.work_until({ code: "ask_permit" });
  await shop.bench("guard", { closed: false });
  await wait(200);
  await operator.means.press(page.getByRole("button", { name: "Ask for one bite" }));
  await expect("guard_open", /guard/i);
  await shop.bench("guard", { closed: true });
  const other = [...shop.tags.entries()].find(([id]) => id !== recipe.die_pair);
  await shop.bench("die", { tag: other[1] });
  await wait(200);
  await operator.means.press(page.getByRole("button", { name: "Ask for one bite" }));
  await expect("die_tag_other", /./);
  assert.deepEqual(await objections(page), [], "a refusal");
  assert.equal(told.length, 8);
  assert.equal((await operator.fitting()).bites_done, 0, "nothing was pressed");
});

test("the link lost in a bite is named within a second, and the fitting is held", async () => {
  const page = await open_page();
  const operator = new Operator(shop, page);
  await operator.sign_in("ada", pin);
  await operator.start();
  await operator.work_until({ code: "press_both_hands" });
  let named_after_ms = 0;
  await operator.press_down(async () => {
    const pulled = Date.now();
    shop.cable.pull();
    await page.locator('.strip[data-old="true"]').waitFor({ timeout: 3000 });
    named_after_ms = Date.now() - pulled;
  });
  assert.ok(named_after_ms < 1000, `named after ${named_after_ms} ms`);
  const held = await until(async () => { const now = await operator.fitting(); return now.stage === "hold" ? now : null; }, "a hold");
  assert.ok(held.standing.some((finding) => finding.code === "link_lost_in_bite"), JSON.stringify(held.standing));
  await by_next(page, "wait_for_reviewer").waitFor();
  assert.deepEqual(await objections(page), [], "held");
  shop.cable.plug_in();
  await page.locator('.strip[data-old="false"]').waitFor();
});

test("a held fitting is proof loaded and used as it is only when two reviewers sign for the same", async () => {
  const page = await open_page();
  const operator = new Operator(shop, page);
  await operator.sign_in("ada", pin);
  await operator.start({ job: "Demo job 14", recipe: strict_recipe, rope_lot: "RL-1002", terminal_lot: "TL-1002" });
  const { stage, bites_done, standing } = await operator.work_until({ code: "quarter_turn" });
  assert.ok(bites_done > 0, `held before it was pressed: ${JSON.stringify(standing)}`);
  if (stage !== "hold") {
    await operator.means.press(operator.button("Hold"));
    await operator.means.press(operator.button("Hold it"));
    await until(async () => (await operator.fitting()).stage === "hold", "a hold");
  }
  const change_to = async (person) => {
    await page.goto(`${shop.address}/#/press`);
    await operator.means.press(operator.button("Sign out"));
    await operator.sign_in(person, pin);
    await page.goto(`${shop.address}/#/fitting/${operator.serial}`);
    await page.locator("[data-two-persons]").waitFor();
    assert.equal(await page.locator("details.pull").count(), person === "ada" ? 1 : 0, "an operator pulls, a reviewer decides");
  };
  const sign = async (decision, reason) => {
    const form = page.locator("form.disposition");
    await operator.means.press(form.getByRole("button", { name: decision }));
    await form.locator("textarea").fill(reason);
    await form.locator('input[name="pin"]').fill(pin);
    await operator.means.press(form.getByRole("button", { name: "Record the decision" }));
  };
  const pull = async (load, held, slip) => {
    if (!(await page.locator("details.pull").evaluate((details) => details.open))) await operator.means.press(page.locator("details.pull summary"));
    const form = page.locator("form.proof-load");
    for (const [at, text] of [load, held, slip].entries()) {
      if (at > 0) await operator.means.press(form.locator('[data-key="next"]'));
      for (const letter of text) await operator.means.press(form.locator(`[data-key="${letter}"]`));
    }
    const cell = form.locator('[data-gauge="load-cell-1"]');
    if ((await cell.getAttribute("aria-pressed")) !== "true") await operator.means.press(cell);
    await operator.means.press(form.getByRole("button", { name: "Record the proof load" }));
  };

  await change_to("cleo");
  await sign("Use as it is", "made for a display, never under load (demo data)");
  await refused(page, "proof_load_missing");

  await change_to("ada");
  await pull("17.2", "100", "0.1");
  await until(async () => (await operator.fitting()).findings.some((finding) => finding.code === "proof_load_short"), "a pull that was too short");
  await until(async () => (await page.locator("form.proof-load input").first().inputValue()) === "", "an empty form");
  await pull("17.2", "181", "0.1");
  await until(async () => (await operator.fitting()).proof.passed, "a pull that holds");
  assert.deepEqual(await objections(page), [], "a held fitting that was pulled");
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "nothing hangs over the edge");

  await change_to("cleo");
  await sign("Use as it is", "pulled and measured, sound (demo data)");
  await page.locator('[data-two-persons] [data-signed="true"]').waitFor();
  assert.equal((await operator.fitting()).stage, "hold", "one signature is not enough");
  await sign("Use as it is", "and once more");
  await refused(page, "second_person_needed");
  assert.equal((await operator.fitting()).stage, "hold");

  await change_to("eli");
  assert.match(await page.locator('[data-two-persons] [data-signed="true"]').innerText(), /Cleo|cleo/);
  assert.deepEqual(await objections(page), [], "the second signature");
  await sign("Use as it is", "looked at it myself, agreed (demo data)");
  await until(async () => (await operator.fitting()).stage === "released", "release by the second signature");
  await page.locator('a[href*="/certificate"]').first().waitFor();
  const dossier = JSON.stringify(await shop.expect(200, "GET", `/fittings/${operator.serial}/dossier`));
  for (const reason of ["pulled and measured, sound", "looked at it myself, agreed"]) assert.ok(dossier.includes(reason), `${reason} is not on record`);
  assert.deepEqual(complaints, []);
});

test("a station that is killed amid a fitting is named, and after its start the fitting goes on to release", async () => {
  const page = await open_page();
  const operator = new Operator(shop, page);
  await operator.sign_in("ada", pin);
  await operator.start();
  await operator.work_until({ code: "quarter_turn" });
  const bites = (await operator.fitting()).bites_done;
  await shop.kill_station();
  await page.locator("[data-stale]").waitFor({ timeout: 1500 });
  assert.deepEqual(await objections(page), [], "old picture");
  await shop.start_station();
  await page.locator("[data-stale]").waitFor({ state: "detached" });
  await operator.sign_in("ada", pin);
  assert.equal((await operator.fitting()).bites_done, bites);
  if ((await operator.fitting()).stage === "aside") {
    await operator.means.press(page.locator("li", { hasText: operator.serial }).getByRole("button", { name: "Resume" }));
    await until(async () => (await operator.fitting()).stage !== "aside", "the fitting taken up again");
  }
  const end = await operator.work_until({});
  assert.equal(end.stage, "released", JSON.stringify(end.standing));
});

test("two screens agree, one drives, and the other can take over by role", async () => {
  const [first, second] = [await open_page(), await open_page({ viewport: { width: 1920, height: 1080 }, hasTouch: true })];
  const operator = new Operator(shop, first);
  await operator.sign_in("ada", pin);
  await new Operator(shop, second).sign_in("ben", pin);
  await operator.start();
  await by_next(second, "measure_rope").waitFor();
  await operator.work_until({ code: "mark_depth" });
  await by_next(second, "mark_depth").waitFor();
  await second.locator('[data-control="elsewhere"]').waitFor();
  assert.equal(await second.locator("[data-key]").count(), 0, "no pad where nothing may be entered");
  assert.deepEqual(await objections(second), [], "the screen that watches");
  const [status, body] = await shop.call("POST", `/fittings/${operator.serial}/evidence`, { kind: "depth_mark", gauge: "rule-1", values: ["50 mm"] }, await shop.sign_in("ben"));
  assert.equal(status, 409, JSON.stringify(body));
  await second.locator('[data-control="elsewhere"] button').first().tap();
  await second.locator("dialog button.strong").tap();
  await first.locator('[data-control="elsewhere"]').waitFor();
  await second.locator('[data-control="elsewhere"]').waitFor({ state: "detached" });
  await second.locator('[data-key="1"]').waitFor();
});

test("who lacks the role is offered nothing to press with, and is refused by the station all the same", async () => {
  const page = await open_page();
  const technician = new Operator(shop, page);
  await technician.sign_in("dan", pin);
  assert.equal(await page.getByRole("button", { name: "Start", exact: true }).count(), 0);
  const [status, body] = await shop.call("POST", "/fittings", { recipe: work.recipe, job: "demo", rope_lot: work.rope_lot, terminal_lot: work.terminal_lot }, await shop.sign_in("dan"));
  assert.equal(status, 403);
  assert.match(body.problem.expected, /operator/);
});

test("the screens of reviewer, technician, planner and administrator are sound to axe-core, on a panel and on a phone", async () => {
  const found = [];
  const judge = async (page, name) => { for (const one of await objections(page)) found.push(`${name}: ${one}`); };
  const { fittings } = await shop.expect(200, "GET", "/fittings?verdict=accepted");
  assert.ok(fittings.length > 0, "a released fitting from the tests before");
  for (const size of [{ width: 1280, height: 800 }, { width: 390, height: 844 }]) {
    const page = await open_page({ viewport: size, hasTouch: true });
    const held = await held_screens(shop, page, judge);
    await desk_screens(shop, page, judge, { released: fittings[0].serial, held });
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth + 1), "nothing hangs over the edge");
  }
  assert.deepEqual(found, []);
});
