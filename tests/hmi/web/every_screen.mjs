// Every screen of the page at a real station, in the order of the work. `look(page, name)` is called on each: it takes a
// picture, or asks axe-core.
import { by_next } from "./hands.mjs";
import { pin, until } from "./real_shop.mjs";
import { Operator } from "./whole_shop.mjs";

/** The fitting's own way, from signing in to release. Gives its serial. */
export async function fitting_screens(shop, page, look) {
  const operator = new Operator(shop, page);
  await page.goto(shop.address);
  await page.locator("[data-person]").first().waitFor();
  await look(page, "sign-in");
  await page.locator('[data-person="ada"]').tap();
  await look(page, "pin");
  await page.goto(`${shop.address}/#/press`);
  await page.reload();
  await operator.sign_in("ada", pin);
  await look(page, "start");
  await operator.start();
  const seen = new Set();
  let at = await operator.fitting();
  for (; !["released", "hold", "scrapped"].includes(at.stage); at = await operator.fitting()) {
    const name = `${at.next.code}${at.pass > 1 ? "-second-pass" : ""}`;
    if (at.next.code === "press_both_hands" && !seen.has("biting")) {
      await by_next(page, at.next.code).waitFor();
      await look(page, name);
      await operator.press_down(() => look(page, "biting"));
      await shop.bench("hands", { on: true });
      await until(async () => (await operator.fitting()).stage !== "biting", "the end of the bite", 60_000);
      await shop.bench("hands", { on: false });
      seen.add("biting").add(name);
      continue;
    }
    if (!seen.has(name) && !["wait_for_record", "wait_for_dies"].includes(at.next.code)) {
      await by_next(page, at.next.code).waitFor();
      await look(page, name);
      seen.add(name);
    }
    await operator.step();
  }
  await by_next(page, at.stage === "hold" ? "wait_for_reviewer" : "done").waitFor();
  await look(page, `verdict-${at.stage}`);
  await page.getByRole("button", { name: "Sign out" }).tap();
  return operator.serial;
}

/** A fitting that is refused something, put on hold, and lies before the reviewer. Gives its serial. */
export async function held_screens(shop, page, look) {
  const operator = new Operator(shop, page);
  await page.goto(`${shop.address}/#/press`);
  await operator.sign_in("ada", pin);
  await operator.start();
  await by_next(page, "measure_rope").waitFor();
  await operator.record(await operator.fitting(), { numbers: ["5.60", "5.61", "5.60"], gauge: "caliper-1" });
  await page.locator('[data-code="rope_diameter_out"]').first().waitFor();
  await look(page, "refused");
  await shop.expect(200, "POST", `/fittings/${operator.serial}/hold`, {}, await shop.sign_in("cleo"));
  await by_next(page, "wait_for_reviewer").waitFor();
  await look(page, "held");
  await page.getByRole("button", { name: "Sign out" }).tap();
  return operator.serial;
}

const opened = async (page, shop, address) => {
  await page.goto(`${shop.address}/#/${address}`);
  await page.waitForTimeout(600); // what the station is asked for comes and is drawn
};

/** What the reviewer, the technician, the planner and the administrator see. */
export async function desk_screens(shop, page, look, { released, held }) {
  const visit = async (person, secret, screens) => {
    await page.goto(`${shop.address}/#/press`);
    await new Operator(shop, page).sign_in(person, secret);
    for (const [name, address, act] of screens) {
      await opened(page, shop, address);
      await act?.();
      await look(page, name);
    }
    await opened(page, shop, "press");
    await page.getByRole("button", { name: "Sign out" }).tap();
  };
  await visit("cleo", pin, [
    ["find", "find"], ["find-one-job", "find/Demo%20job%2012"], ["dossier-released", `fitting/${released}`], ["dossier-held", `fitting/${held}`],
    ["quarantine", "quarantine"], ["reviewer-at-the-press", "press"],
  ]);
  await visit("dan", pin, [
    ...["health", "due", "calibration", "trials", "drafts", "compare"].map((part) => [`workshop-${part}`, `workshop/${part}`]),
    ["jobs", "jobs"], ["jobs-new", "jobs/new"],
  ]);
  await visit("administrator", pin, [["people", "people"]]);
}
