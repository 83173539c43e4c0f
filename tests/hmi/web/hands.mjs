// What an operator does at the panel, in the words of the page: touch, read, record.

export const by_next = (page, code) => page.locator(`[data-next="${code}"]`);

/** Types on the page's own number pad. */
export async function pad(page, text) {
  for (const letter of text) await page.locator(`[data-key="${letter}"]`).tap();
}

/** Reads a gauge: each value by the pad, the gauge and the side where asked, then Record. */
export async function measure(page, code, values, { gauge, side } = {}) {
  await by_next(page, code).waitFor();
  for (const [index, value] of values.entries()) {
    if (index > 0) await page.locator('[data-key="next"]').tap();
    await pad(page, value);
  }
  if (side !== undefined) await page.getByRole("button", { name: side }).tap();
  if (gauge !== undefined) await page.locator(`[data-gauge="${gauge}"]`).tap();
  await page.getByRole("button", { name: "Record", exact: true }).tap();
}

export async function choose(page, code, result) {
  await by_next(page, code).waitFor();
  await page.locator(`[data-result="${result}"]`).tap();
  await page.getByRole("button", { name: "Record", exact: true }).tap();
}

/** Types on the page's PIN pad, which never shows a digit. */
export async function pin_pad(page, pin) {
  for (const digit of pin) await page.locator(`[data-pin-key="${digit}"]`).tap();
}

export async function choose_person(page, id) {
  const tile = page.locator(`[data-person="${id}"]`);
  const other = page.getByRole("button", { name: "Somebody else" });
  await tile.or(other).first().waitFor();
  if (await other.isVisible()) await other.tap(); // the page remembers whose session ended
  await tile.tap();
}

export async function sign_in(page, id, pin = "4711") {
  await choose_person(page, id);
  await pin_pad(page, pin);
  await page.getByRole("button", { name: "Sign in", exact: true }).tap();
  await page.getByRole("button", { name: "Sign out" }).waitFor();
}

export async function start_fitting(page, { rope_lot = "R-1001" } = {}) {
  await page.locator('input[name="job"]').fill("Demo job 7");
  await page.locator('select[name="recipe"]').selectOption("demo-7x19-4.76-hexagon");
  await page.locator('select[name="rope_lot"]').selectOption(rope_lot);
  await page.locator('select[name="terminal_lot"]').selectOption("T-1001");
  await page.getByRole("button", { name: "Start", exact: true }).tap();
}

export async function measure_parts(page) {
  await measure(page, "measure_rope", ["4.77", "4.76", "4.78"], { gauge: "caliper-1" });
  await measure(page, "measure_shank", ["9.12"], { gauge: "micrometer-1" });
  await measure(page, "measure_bore", ["52.1"], { gauge: "depth-rod-1" });
  await measure(page, "mark_depth", ["52.0"], { gauge: "rule-1" });
  await measure(page, "mark_boundary", ["52.2"], { gauge: "rule-1" });
  await measure(page, "check_insertion", ["0.3"], { gauge: "rule-1", side: /Outside the mouth/ });
}

/** One bite: position, permit, both hands. */
export async function bite(page, station, edge) {
  await measure(page, "set_position", [edge], { gauge: "rule-1", side: /Toward the mouth/ });
  await by_next(page, "ask_permit").waitFor();
  await page.getByRole("button", { name: "Ask for one bite" }).tap();
  await by_next(page, "press_both_hands").waitFor();
  station.hands_on();
  await by_next(page, "wait_for_dies").waitFor();
}

export async function first_pass(page, station) {
  for (const edge of ["1.6", "15.4", "29.5"]) await bite(page, station, edge);
}
