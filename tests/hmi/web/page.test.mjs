// The page in a real browser against the scripted station. Goal: an operator can take a fitting from start to verdict
// by touch alone, refusals say why, and old data is never shown as if it were live.
import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { open_browser } from "./browser.mjs";
import * as hands from "./hands.mjs";
import { ScriptedStation } from "./scripted_station.mjs";

const page_folder = process.env.PAGE_FOLDER;
if (page_folder === undefined) throw new Error("PAGE_FOLDER is not set: run tests/hmi/web/run");

let browser, close, station, address, context, page, complaints;
const panel = { viewport: { width: 1280, height: 800 }, hasTouch: true };

before(async () => { ({ browser, close } = await open_browser()); });
after(async () => { await close(); });
beforeEach(async () => {
  station = new ScriptedStation(page_folder);
  station.bite_ms = 400;
  address = await station.start();
  await open_page(panel);
});
afterEach(async () => {
  await context.close();
  await station.stop();
});

async function open_page(options, { own_clock = false } = {}) {
  await context?.close();
  context = await browser.newContext(options);
  page = await context.newPage();
  page.setDefaultTimeout(30_000);
  complaints = [];
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("console", (message) => {
    // A refused request is part of the work; anything else in the console is a fault of the page.
    if (message.type() === "error" && !/status of 4\d\d/.test(message.text())) complaints.push(message.text());
  });
  page.on("request", (request) => { if (!request.url().startsWith(address)) complaints.push(`asked elsewhere: ${request.url()}`); });
  if (own_clock) await page.clock.install();
  await page.goto(address);
}

async function at_first_step() {
  await hands.sign_in(page, "demo-ada");
  await hands.start_fitting(page);
  await hands.by_next(page, "measure_rope").waitFor();
}

const sent = (what) => station.requests.filter((request) => request.path.endsWith(what)).map((request) => request.body);
const code = (finding) => page.locator(`[data-code="${finding}"]`);

test("a fitting goes from start to release by touch alone", async () => {
  await at_first_step();
  await hands.measure_parts(page);
  await hands.first_pass(page, station);
  await hands.measure(page, "quarter_turn", ["90.5"], { gauge: "protractor-1" });
  await hands.first_pass(page, station);
  await hands.choose(page, "gauge_go", "passes");
  await hands.choose(page, "gauge_no_go", "stops");
  const flats = ["7.97", "7.98", "7.97", "7.96", "7.98", "7.97", "7.99", "7.97", "7.98"];
  await hands.measure(page, "gauge_across_flats", flats, { gauge: "micrometer-1" });
  await hands.measure(page, "gauge_growth", ["57.2"], { gauge: "rule-1" });
  await hands.measure(page, "gauge_slip", ["4.9"], { gauge: "rule-1", side: /Inside the mouth/ });
  await hands.measure(page, "gauge_straightness", ["0.1"], { gauge: "straight-edge-1" });
  await hands.choose(page, "look_at_surface", "sound");
  await page.getByRole("button", { name: "Give the verdict" }).tap();
  await page.locator('[data-verdict="Accepted"]').waitFor();
  await page.getByRole("button", { name: "Release this fitting" }).tap();
  await page.locator('[data-verdict="Released"]').waitFor();

  const evidence = sent("/evidence");
  assert.deepEqual(evidence[0], { kind: "rope_diameter", gauge: "caliper-1", values: ["4.77 mm", "4.76 mm", "4.78 mm"] });
  assert.deepEqual(evidence.find((body) => body.kind === "slip"), { kind: "slip", gauge: "rule-1", values: ["-4.9 mm"] });
  assert.deepEqual(evidence.find((body) => body.kind === "across_flats"), {
    kind: "across_flats", gauge: "micrometer-1",
    stations: [["7.97 mm", "7.98 mm", "7.97 mm"], ["7.96 mm", "7.98 mm", "7.97 mm"], ["7.99 mm", "7.97 mm", "7.98 mm"]],
  });
  assert.equal(sent("/permit").length, 6, "one permit for each of the six bites");
  assert.deepEqual(complaints, []);
});

test("the dossier shows every entry in order and plots each bite", async () => {
  await at_first_step();
  await hands.measure_parts(page);
  await hands.bite(page, station, "1.6");
  await hands.by_next(page, "set_position").waitFor();
  await page.getByRole("link", { name: "Find" }).tap();
  await page.getByRole("link", { name: "DEMO-0001-K" }).tap();
  await page.locator(".entry canvas").waitFor();
  const numbers = await page.locator(".entry-number").allTextContents();
  assert.deepEqual(numbers, numbers.map((_, index) => String(index + 1)));
  assert.equal(numbers.length, station.fittings.get("DEMO-0001-K").entries.length);
  assert.equal(await page.locator(".entry canvas").count(), 1);
  assert.deepEqual(complaints, []);
});

test("a quarantined lot is refused with the reason and what to do", async () => {
  await hands.sign_in(page, "demo-ada");
  await hands.start_fitting(page, { rope_lot: "R-1002" });
  const finding = code("rope_lot_quarantined");
  await finding.waitFor();
  assert.match(await finding.innerText(), /quarantined[\s\S]*Do this: Take rope of a free lot/);
});

test("a reading outside its limit is named before it is recorded, and refused with by how much", async () => {
  await at_first_step();
  await hands.measure(page, "measure_rope", ["4.77", "4.76", "4.78"], { gauge: "caliper-1" });
  await hands.measure(page, "measure_shank", ["9.12"], { gauge: "micrometer-1" });
  await hands.measure(page, "measure_bore", ["52.1"], { gauge: "depth-rod-1" });
  await hands.measure(page, "mark_depth", ["52.0"], { gauge: "rule-1" });
  await hands.measure(page, "mark_boundary", ["52.2"], { gauge: "rule-1" });
  await hands.by_next(page, "check_insertion").waitFor();
  await hands.pad(page, "2.4");
  assert.match(await page.locator(".outside-note").innerText(), /1\.60 mm above the limit/);
  await page.getByRole("button", { name: /Outside the mouth/ }).tap();
  await page.locator('[data-gauge="rule-1"]').tap();
  await page.getByRole("button", { name: "Record", exact: true }).tap();
  assert.match(await code("rope_not_home").innerText(), /is 2\.40 mm[\s\S]*1\.60 mm over the limit/);
  assert.ok(await page.getByRole("button", { name: "Record", exact: true }).isVisible());
});

test("a reading with a unit of another dimension is refused in words, and nothing is recorded", async () => {
  await at_first_step();
  for (const [index, text] of ["4.77 kN", "4.76", "4.78"].entries()) {
    await page.getByLabel(`Reading ${index + 1} in mm`).fill(text);
  }
  await page.locator('[data-gauge="caliper-1"]').tap();
  await page.getByRole("button", { name: "Record", exact: true }).tap();
  const notice = page.locator(".notice", { hasText: "4.77 kN" });
  await notice.waitFor();
  assert.match(await notice.innerText(), /Expected: a length with its unit/);
  assert.equal(station.active.evidence.rope_diameter_mm, undefined);
  await hands.by_next(page, "measure_rope").waitFor();
});

test("a device set to inches sends inches, shows limits in inches, and remembers", async () => {
  await at_first_step();
  await page.getByRole("button", { name: "inch" }).tap();
  assert.match(await page.locator(".limits").innerText(), /0\.1846 to 0\.1969 in/); // 4.69 and 5.00 mm over 25.4 mm, NIST SP 811 B.9
  await hands.pad(page, "4.77");
  assert.match(await page.locator(".outside-note").innerText(), /Is the gauge reading millimetres/);
  await page.locator('[data-key="clear"]').tap();
  await hands.measure(page, "measure_rope", ["0.1880", "0.1875", "0.1878"], { gauge: "caliper-1" });
  await hands.by_next(page, "measure_shank").waitFor();
  assert.deepEqual(sent("/evidence")[0].values, ["0.1880 in", "0.1875 in", "0.1878 in"]);
  await page.reload();
  await hands.by_next(page, "measure_shank").waitFor();
  assert.equal(await page.getByRole("button", { name: "inch" }).getAttribute("aria-pressed"), "true");
});

test("nothing is filled in beforehand, and Record waits until all is there", async () => {
  await at_first_step();
  const record = page.getByRole("button", { name: "Record", exact: true });
  for (const reading of [1, 2, 3]) assert.equal(await page.getByLabel(`Reading ${reading} in mm`).inputValue(), "");
  assert.ok(await record.isDisabled());
  await page.locator('[data-gauge="caliper-1"]').tap();
  await hands.pad(page, "4.77");
  await page.locator('[data-key="next"]').tap();
  await hands.pad(page, "4.76");
  assert.ok(await record.isDisabled());
  await page.locator('[data-key="next"]').tap();
  await hands.pad(page, "4.78");
  assert.ok(await record.isEnabled());
});

test("the side of a mark must be said before a signed reading is recorded", async () => {
  await at_first_step();
  await hands.measure(page, "measure_rope", ["4.77", "4.76", "4.78"], { gauge: "caliper-1" });
  await hands.measure(page, "measure_shank", ["9.12"], { gauge: "micrometer-1" });
  await hands.measure(page, "measure_bore", ["52.1"], { gauge: "depth-rod-1" });
  await hands.measure(page, "mark_depth", ["52.0"], { gauge: "rule-1" });
  await hands.measure(page, "mark_boundary", ["52.2"], { gauge: "rule-1" });
  await hands.by_next(page, "check_insertion").waitFor();
  await page.locator('[data-gauge="rule-1"]').tap();
  await hands.pad(page, "0.3");
  assert.ok(await page.getByRole("button", { name: "Record", exact: true }).isDisabled());
  await page.getByRole("button", { name: /Outside the mouth/ }).tap();
  await page.getByLabel("Depth mark to mouth in mm").fill("-0.3");
  assert.equal(await page.getByRole("button", { name: /Inside the mouth/ }).getAttribute("aria-pressed"), "true", "a typed sign says the side");
  await page.getByRole("button", { name: "Record", exact: true }).tap();
  await hands.by_next(page, "set_position").waitFor();
  assert.deepEqual(sent("/evidence").at(-1).values, ["-0.3 mm"]);
});

test("a gauge past its calibration date cannot be chosen, and says since when", async () => {
  await at_first_step();
  const overdue = page.locator('[data-gauge="caliper-2"]');
  assert.ok(await overdue.isDisabled());
  assert.match(await overdue.innerText(), /calibration was due 2020-01-31/);
  assert.equal(await page.locator('[data-gauge="rule-1"]').count(), 0, "a rule does not read a diameter");
});

test("a silent station is named old within a second, and no bite can be asked for", async () => {
  await open_page(panel, { own_clock: true });
  await at_first_step();
  await hands.measure_parts(page);
  await hands.measure(page, "set_position", ["1.6"], { gauge: "rule-1", side: /Toward the mouth/ });
  const ask = page.getByRole("button", { name: "Ask for one bite" });
  await ask.waitFor();
  // The page's clock is ours from here: events still come, time does not pass unless told.
  await page.clock.pauseAt(Date.now() + 1000);
  await station.next_event();
  station.fall_silent();
  await page.waitForFunction((version) => document.querySelector("[data-version]")?.dataset.version === String(version), station.version_sent, { polling: 20 });
  await page.clock.runFor(740);
  assert.equal(await page.locator("[data-stale]").count(), 0, "silent for three quarters of a second: still live");
  await page.clock.runFor(140);
  assert.equal(await page.locator("[data-stale]").count(), 1, "named old before a second is over");
  assert.equal(await page.locator('.strip[data-old="true"]').count(), 1);
  assert.ok(await ask.isDisabled());
  await page.clock.resume();
  station.fall_silent(false);
  await page.locator("[data-stale]").waitFor({ state: "detached" });
  assert.ok(await ask.isEnabled());
});

test("a broken line is named at once and dialled again", async () => {
  await at_first_step();
  station.break_lines();
  await page.locator("[data-stale]").waitFor();
  await page.locator("[data-stale]").waitFor({ state: "detached" });
  await hands.by_next(page, "measure_rope").waitFor();
});

test("a press that does not answer is named old though the station still speaks", async () => {
  await at_first_step();
  Object.assign(station.press, { fresh: false, link: "lost", link_problem: "no answer in 200 ms" });
  await page.locator('.strip[data-old="true"]').waitFor();
  assert.match(await page.locator(".strip-old").innerText(), /Link: Lost\. no answer in 200 ms/);
});

test("a permit is refused with every reason, and can be withdrawn when given", async () => {
  await at_first_step();
  await hands.measure_parts(page);
  await hands.measure(page, "set_position", ["1.6"], { gauge: "rule-1", side: /Toward the mouth/ });
  await hands.by_next(page, "ask_permit").waitFor();
  station.press.guard_closed = false;
  await page.getByRole("button", { name: "Ask for one bite" }).tap();
  await code("guard_open").waitFor();
  station.press.guard_closed = true;
  await page.getByRole("button", { name: "Ask for one bite" }).tap();
  await hands.by_next(page, "press_both_hands").waitFor();
  await page.getByRole("button", { name: "Withdraw the permit" }).tap();
  await hands.by_next(page, "ask_permit").waitFor();
  assert.equal(await code("guard_open").count(), 0, "an old refusal is not left standing");
});

test("a fitting on hold keeps its verdict in view and only a reviewer is offered the decision", async () => {
  await at_first_step();
  await page.getByRole("button", { name: "Hold", exact: true }).tap();
  await page.getByRole("button", { name: "Hold it" }).tap();
  await page.locator('[data-verdict="On hold"]').waitFor();
  assert.equal(await page.getByRole("button", { name: /Scrap it/ }).count(), 0);
  await page.getByRole("button", { name: "Sign out" }).tap();
  await hands.sign_in(page, "demo-rita");
  await page.locator('[data-verdict="On hold"]').waitFor();
  await page.getByRole("button", { name: /Scrap it/ }).tap();
  const record = page.getByRole("button", { name: "Record the decision" });
  assert.ok(await record.isDisabled(), "a reason is wanted");
  await page.getByLabel("Reason, kept word for word").fill("Demo: dropped on the floor");
  assert.ok(await record.isDisabled(), "the PIN is the signature");
  await hands.pin_pad(page, "2580");
  await record.tap();
  await page.getByText("That is not your PIN").waitFor();
  await hands.pin_pad(page, "4711");
  await record.tap();
  await page.locator('[data-verdict="Scrapped"]').waitFor();
  assert.deepEqual(sent("/disposition").at(-1), { disposition: "scrap", reason: "Demo: dropped on the floor", pin: "4711" });
});

test("a fitting is put aside after a question, and resumed", async () => {
  await at_first_step();
  await page.getByRole("button", { name: "Put aside" }).tap();
  await page.getByRole("button", { name: "Go back" }).tap();
  assert.equal(sent("/aside").length, 0);
  await page.getByRole("button", { name: "Put aside" }).tap();
  await page.getByRole("dialog").getByRole("button", { name: "Put aside" }).tap();
  await page.getByRole("button", { name: "Resume" }).tap();
  await hands.by_next(page, "measure_rope").waitFor();
});

test("an ended session asks who works here and comes back to the same step", async () => {
  await at_first_step();
  station.sessions.clear();
  await hands.measure(page, "measure_rope", ["4.77", "4.76", "4.78"], { gauge: "caliper-1" });
  await page.getByText("Your session has ended").waitFor();
  await hands.pin_pad(page, "4711");
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await hands.by_next(page, "measure_rope").waitFor();
  assert.equal(station.active.evidence.rope_diameter_mm, undefined);
  assert.equal(await page.getByLabel("Reading 2 in mm").inputValue(), "4.76", "what was begun is kept for the same person");
  station.sessions.clear();
  await page.getByRole("button", { name: "Record", exact: true }).tap();
  station.pins.set("demo-otto", "4711");
  await hands.sign_in(page, "demo-otto");
  await hands.by_next(page, "measure_rope").waitFor();
  assert.equal(await page.getByLabel("Reading 2 in mm").inputValue(), "", "and never handed to another");
});

test("a wrong PIN is told with the tries left, then with the wait, and no digit is ever shown", async () => {
  await hands.choose_person(page, "demo-ada");
  for (let left = 4; left >= 1; left -= 1) {
    await hands.pin_pad(page, "2580");
    assert.doesNotMatch(await page.locator("main").innerText(), /2580/);
    assert.equal(await page.locator('input[name="pin"]').getAttribute("type"), "password");
    await page.getByRole("button", { name: "Sign in", exact: true }).tap();
    await page.locator(`[data-tries="${left}"]`).waitFor();
  }
  await hands.pin_pad(page, "2580");
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await page.locator("[data-wait]").waitFor();
  assert.ok(await page.locator('[data-pin-key="1"]').isDisabled());
  await page.locator("[data-wait]").waitFor({ state: "detached" });
  station.failed.clear();
  await hands.pin_pad(page, "4711");
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await page.getByRole("button", { name: "Sign out" }).waitFor();
  assert.deepEqual(complaints, []);
});

test("a first sign-in goes by the one-time code to a PIN chosen twice", async () => {
  await hands.choose_person(page, "demo-otto");
  await page.getByRole("button", { name: "I have a one-time code" }).tap();
  await page.locator('input[name="code"]').fill("K7QD-2M9P-X4TR");
  await page.getByRole("button", { name: "Go on" }).tap();
  const choose = async (pin, button) => {
    await hands.pin_pad(page, pin);
    await page.getByRole("button", { name: button, exact: true }).tap();
  };
  await choose("2580", "Go on");
  await choose("2581", "Set this PIN");
  await page.getByText("The two did not agree").waitFor();
  await page.reload(); // the session by code is still there, and still good for a PIN alone
  await choose("0000", "Go on");
  await choose("0000", "Set this PIN");
  await page.getByText("not among the first to be tried").waitFor();
  await choose("2580", "Go on");
  await choose("2580", "Set this PIN");
  await page.getByRole("button", { name: "Sign out" }).waitFor();
  assert.equal(station.pins.get("demo-otto"), "2580");
  assert.deepEqual(complaints, []);
});

test("an administrator issues a code, changes roles and qualifies; others do not see the way", async () => {
  await hands.sign_in(page, "demo-ada");
  assert.equal(await page.getByRole("link", { name: "People" }).count(), 0);
  await page.getByRole("button", { name: "Sign out" }).tap();
  await hands.sign_in(page, "demo-nina");
  await page.getByRole("link", { name: "People" }).tap();
  await page.locator('[data-account="demo-otto"] .account-head').tap();
  await page.getByRole("button", { name: "Issue a one-time code" }).tap();
  await page.getByText("K7QD-2M9P-X4TR").waitFor();
  await page.locator('[data-role="reviewer"]').tap();
  await page.getByRole("button", { name: "Change the roles" }).tap();
  await page.locator('[data-account="demo-otto"] .account-roles', { hasText: "reviewer" }).waitFor();
  assert.deepEqual(sent("/roles").at(-1), { roles: ["operator", "technician", "reviewer"] });
  await page.locator('select[name="family"]').selectOption("straight-shank-hexagon");
  await page.locator('input[name="until"]').fill("2032-01-31");
  await page.getByRole("button", { name: "Qualify", exact: true }).tap();
  await page.getByText("until 2032-01-31").waitFor();
  assert.deepEqual(complaints, []);
});

test("every step can be worked from the keyboard", async () => {
  await page.locator('[data-person="demo-ada"]').press("Enter");
  await page.locator('input[name="pin"]').waitFor();
  await page.keyboard.type("4711\n"); // the field has the focus
  await page.getByRole("button", { name: "Sign out" }).waitFor();
  await page.locator('input[name="job"]').fill("Demo job 7");
  await page.locator('select[name="recipe"]').selectOption("demo-7x19-4.76-hexagon");
  await page.locator('select[name="rope_lot"]').selectOption("R-1001");
  await page.locator('select[name="terminal_lot"]').selectOption("T-1001");
  await page.getByRole("button", { name: "Start", exact: true }).press("Enter");
  await hands.by_next(page, "measure_rope").waitFor();
  await page.locator('[data-gauge="caliper-1"]').press("Space");
  await page.getByLabel("Reading 1 in mm").focus();
  await page.keyboard.type("4.77\n4.76\n4.78\n"); // as a gauge that types would: value, Enter
  await page.keyboard.press("Enter");              // focus has come to Record
  await hands.by_next(page, "measure_shank").waitFor();
  assert.deepEqual(sent("/evidence")[0].values, ["4.77 mm", "4.76 mm", "4.78 mm"]);
});

for (const [name, viewport] of Object.entries({ panel: { width: 1280, height: 800 }, phone: { width: 390, height: 844 }, "panel at 200 %": { width: 640, height: 400 } })) {
  test(`every control is at least 48 px high on the ${name}, nothing runs off its side, and the cautions stand`, async () => {
    await open_page({ viewport, hasTouch: true });
    const check = async (place) => {
      const small = await page.evaluate(() => [...document.querySelectorAll("button, select, summary, input, textarea, a")]
        .filter((element) => !element.matches(".cell input"))       // its whole cell is the target
        .filter((element) => element.getBoundingClientRect().height > 0 && element.getBoundingClientRect().height < 47.5)
        .map((element) => `${element.tagName} ${element.textContent} ${element.getBoundingClientRect().height}`));
      assert.deepEqual(small, [], place);
      assert.equal(await page.evaluate(() => document.documentElement.scrollWidth > innerWidth), false, `${place} is wider than the screen`);
      assert.match(await page.locator(".cautions").innerText(), /not a safety function/);
    };
    await page.locator("[data-person]").first().waitFor();
    await check("sign in");
    await hands.choose_person(page, "demo-ada");
    await page.locator('[data-pin-key="1"]').waitFor();
    await check("PIN");
    await page.getByRole("button", { name: "Somebody else" }).tap();
    await hands.sign_in(page, "demo-nina");
    await page.getByRole("link", { name: "People" }).tap();
    await page.locator('[data-account="demo-ada"] .account-head').tap();
    await check("people");
    await page.getByRole("link", { name: "Press" }).tap();
    await page.getByRole("button", { name: "Sign out" }).tap();
    await hands.sign_in(page, "demo-ada");
    await check("start");
    await hands.start_fitting(page);
    await hands.by_next(page, "measure_rope").waitFor();
    await check("readings");
    if (name === "panel") {
      assert.equal(await page.evaluate(() => document.documentElement.scrollHeight <= innerHeight), true, "the step fits the panel without pushing");
    }
    await hands.measure_parts(page);
    await hands.by_next(page, "set_position").waitFor();
    await check("position");
    await page.goto(`${address}/#/find`);
    await page.locator(".review-row a").first().waitFor();
    await check("find");
  });
}
