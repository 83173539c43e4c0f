// Figures of the page at a real station, for a report and never for a verdict: node figures.mjs
//   weight      bytes of everything the first screen asks for, as sent
//   first       from navigation to first paint and to the first screen that can be used
//   latency     from a change in the press's registers (the guard at the bench) to the frame that shows it
//   smoothness  time between frames while a bite runs
import { open_browser } from "./browser.mjs";
import { RealShop, pin, until, wait } from "./real_shop.mjs";
import { Operator } from "./whole_shop.mjs";

const share = (values, part) => { const sorted = [...values].sort((a, b) => a - b); return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))]; };
const shop = await RealShop.open({ seed: 1 });
const { browser, close } = await open_browser();
try {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, hasTouch: true });
  const page = await context.newPage();
  const session = await context.newCDPSession(page);
  await session.send("Network.enable");
  let sent = 0, requests = 0;
  session.on("Network.loadingFinished", ({ encodedDataLength }) => { sent += encodedDataLength; });
  session.on("Network.responseReceived", () => { requests += 1; });
  const first = [];
  for (let count = 0; count < 5; ++count) {
    sent = 0; requests = 0;
    await session.send("Network.setCacheDisabled", { cacheDisabled: true });
    await page.goto("about:blank");
    await page.goto(shop.address);
    await page.locator("[data-person]").first().waitFor();
    first.push(await page.evaluate(() => ({ paint: performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0, usable: performance.now() })));
  }
  console.log(`weight: ${(sent / 1000).toFixed(1)} kB sent in ${requests} requests`);
  console.log(`first paint: median ${share(first.map((one) => one.paint), 0.5).toFixed(0)} ms; first screen usable: median ${share(first.map((one) => one.usable), 0.5).toFixed(0)} ms`);

  const operator = new Operator(shop, page);
  await operator.sign_in("ada", pin);
  await page.evaluate(() => {
    const tile = () => document.querySelector(".strip")?.textContent ?? "";
    let before = tile();
    window.seen = [];
    new MutationObserver(() => {
      const now = /Guard(.*?)Selector/.exec(tile())?.[1] ?? "";
      if (now === before) return;
      before = now;
      requestAnimationFrame(() => { window.seen.push(Date.now()); });
    }).observe(document.body, { subtree: true, childList: true, characterData: true });
  });
  const late = [];
  for (let closed = false, count = 0; count < 200; ++count, closed = !closed) {
    await page.evaluate(() => { window.seen.length = 0; });
    const asked = Date.now();
    await shop.bench("guard", { closed });
    const shown = await until(() => page.evaluate(() => window.seen[0] ?? 0), "the guard on the page", 3000);
    late.push(shown - asked);
    await wait(Math.random() * 60);
  }
  console.log(`register to frame: median ${share(late, 0.5)} ms, 95 of 100 within ${share(late, 0.95)} ms, longest ${Math.max(...late)} ms (${late.length} changes; the bench's answer is in it)`);

  await operator.start();
  await operator.work_until({ code: "press_both_hands" });
  const frames = page.evaluate(() => new Promise((done) => {
    const times = [], end = performance.now() + 2500;
    const next = (now) => { times.push(now); if (now < end) requestAnimationFrame(next); else done(times); };
    requestAnimationFrame(next);
  }));
  await operator.press_down(() => frames);
  const times = await frames;
  const apart = times.slice(1).map((time, at) => time - times[at]);
  console.log(`frames in a bite: ${(1000 / (apart.reduce((sum, one) => sum + one, 0) / apart.length)).toFixed(0)} a second, 99 of 100 within ${share(apart, 0.99).toFixed(0)} ms, longest ${Math.max(...apart).toFixed(0)} ms`);
} finally {
  await close();
  await shop.close();
}
