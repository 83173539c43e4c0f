// The technician's part of the page in a browser, against the real HTTP server over a workshop with the shipped library
// (tests/hmi/fake_server.cpp). Goal: a technician is led through a calibration by touch and sees each error at once; a
// trial becomes a draft that only somebody else releases. FAKE_SERVER names the program; without it nothing is tried.
import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { objections } from "./axe.mjs";
import * as hands from "./hands.mjs";
import { Served, options } from "./served.mjs";

const served = new Served();
let address, context, page, complaints;
const take = () => { ({ address, context, page, complaints } = served); };

before(() => served.begin());
after(() => served.end());
beforeEach(async () => {
  await served.open({ viewport: { width: 1280, height: 800 }, hasTouch: true });
  take();
  await page?.goto(address);
});
afterEach(() => served.leave());

async function open_page(how) {
  await served.open_page(how);
  take();
  await page.goto(address);
}

/** Signs in through the interface, as another page of the same browser would, and shows a part of the workshop. */
async function sign_in(id, part) {
  await served.sign_in(id);
  await page.goto(`${address}/#/workshop/${part}`);
  await page.reload();
  await page.getByRole("button", { name: "Sign out" }).waitFor();
}

const record = () => page.locator(".record").tap();
const error_of = (run, step) => page.locator(`[data-error="${run} ${step}"]`);

/** Types on the pad into one reading. */
async function read(name, text) {
  await page.locator(`input[name="${name}"]`).tap();
  await hands.pad(page, text);
}

async function begin() {
  await page.locator('[data-cell="load-cell-1"]').tap();
  await read("range", "600");
  await read("resolution", "0.2");
  await page.locator('[data-class="1"]').tap();
  await page.locator("[data-preloaded]").tap();
  await record();
  await page.locator('[data-asked="run"]').waitFor();
}

async function whole_run(run, angle, cell_of) {
  await page.locator(`[data-angle="${angle}"]`).tap();
  await read("ram_position", String(run * 10));
  await record();
  for (let step = 1; step <= 5; step += 1) {
    await page.getByRole("heading", { name: `Run ${run}, force ${step} of 5` }).waitFor();
    const target = await page.locator("[data-target]").getAttribute("data-target");
    assert.equal(Number(target), 120 * step);
    await page.locator('[data-source="display"]').tap();
    await read("indicated", String(120 * step));
    await read("cell", cell_of(step));
    await record();
    await error_of(run, step).waitFor();
  }
  await page.getByRole("heading", { name: `Run ${run}: force off` }).waitFor();
  await page.locator('[data-source="display"]').tap();
  await read("indicated", "0.1");
  await record();
}

test("a calibration is led from the first loading to the day it falls due, by touch", options, async () => {
  await sign_in("tech-1", "calibration");
  await page.locator('[data-press-due="2031-05-02"]').waitFor();
  assert.equal(await page.locator('input[name="range"]').inputValue(), ""); // nothing is filled in beforehand
  assert.deepEqual(await objections(page), []);
  await begin();
  assert.deepEqual(await objections(page), []);
  await whole_run(1, "0", (step) => String(120 * step - 0.5));
  assert.equal(await error_of(1, 1).textContent(), "+0.42 %"); // 100 (120 - 119.5) / 119.5 = 0.4184 %
  await whole_run(2, "120", (step) => String(120 * step + 0.3));
  assert.equal(await error_of(2, 1).textContent(), "−0.25 %"); // 100 (120 - 120.3) / 120.3 = -0.2494 %
  await whole_run(3, "240", (step) => String(120 * step));
  // b at 120 kN = 0.4184 + 0.2494 = 0.668 %: class 1 (ISO 7500-1, table 2)
  await page.locator('p[data-class="1"]').waitFor();
  assert.deepEqual(await objections(page), []);
  await page.locator('input[name="due"]').fill("2032-05-01");
  await hands.pin_pad(page, "4711");
  await record();
  await page.locator('[data-press-due="2032-05-01"]').waitFor();
  await page.getByText("tech-1, load-cell-1").waitFor();
  assert.deepEqual(await objections(page), []);
  assert.deepEqual(complaints, []);
});

test("a reading at the wrong force is refused with both numbers, and one taken again replaces the first", options, async () => {
  await sign_in("tech-1", "calibration");
  await begin();
  await page.locator('[data-angle="0"]').tap();
  await record();
  await page.locator('[data-source="display"]').waitFor();
  assert.deepEqual(await objections(page), []);
  await page.locator('[data-source="display"]').tap();
  await read("indicated", "150");
  await read("cell", "150");
  await record();
  await page.getByRole("alert").getByText("150.0 kN").waitFor();
  await page.getByText("120.0 kN, within 12.0 kN either way").waitFor();
  await page.locator('input[name="indicated"]').fill("120");
  await page.locator('input[name="cell"]').fill("118");
  await record();
  await error_of(1, 1).waitFor();
  await page.locator('select[name="repeat"]').selectOption("1 1");
  await page.getByRole("button", { name: "Again", exact: true }).tap();
  await page.locator('[data-source="display"]').tap();
  await page.locator('input[name="indicated"]').fill("120");
  await page.locator('input[name="cell"]').fill("120");
  await record();
  await page.getByText("Readings taken again: 1").waitFor();
  assert.equal(await error_of(1, 1).textContent(), "0.00 %");
  await page.reload(); // what was read is the station's, not this page's
  await page.getByText("Readings taken again: 1").waitFor();
  await page.getByRole("button", { name: "End without a result" }).tap();
  await page.locator("textarea").fill("the cell slipped");
  await page.getByRole("button", { name: "End it" }).tap();
  await page.getByRole("button", { name: "Begin the calibration" }).waitFor();
});

test("a trial shows its plots and becomes a draft, which only somebody else releases", options, async () => {
  await sign_in("tech-1", "trials");
  // The register of the fake server has other recipes than the workshop's library: asked for by its own interface.
  await context.request.post(`${address}/api/v1/workshop/trial`, { data: { recipe: "straight-shank-3-16-7x19", fittings: 1500 }, headers: { origin: address } });
  await page.locator('[data-trial="running"]').waitFor();
  await page.locator('[data-trial="done"]').waitFor({ timeout: 400_000 }); // it gives way to everything else on the machine
  await page.locator("[data-recommended]").waitFor();
  await page.getByRole("img", { name: "Share rejected at each force" }).waitFor();
  assert.deepEqual(await objections(page), []);
  await page.getByRole("button", { name: "Make a draft of it" }).tap();
  await page.locator('[data-draft-state="waiting"]').waitFor();
  await page.getByRole("row", { name: /target force, kN/ }).waitFor();
  await page.getByText("You made this draft").waitFor();
  assert.equal(await page.getByRole("button", { name: "Release it" }).count(), 0);
  const draft = decodeURIComponent(page.url().split("/").pop());
  await sign_in("rev-1", `drafts/${draft}`);
  assert.deepEqual(await objections(page), []);
  await page.locator("textarea").fill("tried on five parts");
  await hands.pin_pad(page, "4711");
  await page.getByRole("button", { name: "Release it" }).tap();
  await page.locator('[data-draft-state="released"]').waitFor();
  await page.getByText("in force from the next start").first().waitFor();
  assert.deepEqual(complaints, []);
});

test("what falls due is told in words and by shape, with the most urgent first", options, async () => {
  await sign_in("tech-1", "due");
  const rows = page.locator("tr[data-urgency]");
  await rows.first().waitFor();
  assert.equal(await rows.first().getAttribute("data-urgency"), "overdue");
  assert.match(await rows.first().textContent(), /Past: work stops.*caliper-1.*past by 1 d/);
  assert.equal(await rows.first().locator(".sign-danger").count(), 1);
  assert.equal(await page.locator('tr[data-urgency="later"]').count(), 0);
  await page.getByRole("button", { name: /due later/ }).tap();
  assert.ok((await page.locator('tr[data-urgency="later"]').count()) > 0);
});

test("the press's health is live, and zeroing asks first", options, async () => {
  await sign_in("tech-1", "health");
  await page.locator('[data-health="Strokes in all"]').waitFor();
  await page.getByText("No bite of the last 31 days").or(page.getByRole("img", { name: /Slope of the pressure/ })).waitFor();
  assert.deepEqual(complaints, []);
});

test("two bites are laid over one another, with their figures beside the picture", options, async () => {
  await sign_in("tech-1", "compare");
  for (const serial of ["S-0001", "S-0002"]) {
    await page.locator('input[name="serial"]').fill(serial);
    await page.getByRole("button", { name: "List its bites" }).tap();
    await page.locator(`[data-bite^="${serial} "]`).first().tap();
  }
  await page.getByRole("img", { name: "Force against gap of 2 bites while the dies close" }).waitFor();
  assert.equal(await page.getByRole("row", { name: /S-000[12] pass/ }).count(), 2);
  assert.deepEqual(await objections(page), []);
  assert.deepEqual(complaints, []);
});

test("who is no technician may watch, is told so, and finds nothing to act with", options, async () => {
  await sign_in("op-1", "calibration");
  await page.getByText("A technician must sign in to act here").waitFor();
  assert.equal(await page.getByRole("button", { name: "Begin the calibration" }).count(), 0);
  assert.equal(await page.getByRole("link", { name: "Workshop" }).count(), 0);
});

test("the workshop fits a phone and speaks German", options, async () => {
  await open_page({ viewport: { width: 390, height: 844 }, hasTouch: true });
  await sign_in("tech-1", "calibration");
  await page.locator(".language").tap();
  await page.getByRole("heading", { name: "Kraftkalibrierung der Presse" }).waitFor();
  for (const part of ["health", "due", "calibration", "trials", "drafts", "compare"]) {
    await page.goto(`${address}/#/workshop/${part}`);
    await page.locator("h2").first().waitFor();
    for (const viewport of [{ width: 390, height: 844 }, { width: 640, height: 400 }]) { // the panel at 200 %
      await page.setViewportSize(viewport);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `${part} is ${wide} px too wide at ${viewport.width}`);
    }
  }
  assert.deepEqual(complaints, []);
});
