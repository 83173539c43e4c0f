// Pictures of every screen for people to look at, from a real station with a simulated press:
//   node screens.mjs OUT_FOLDER [WIDTHxHEIGHT ...]
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { open_browser } from "./browser.mjs";
import { desk_screens, fitting_screens, held_screens } from "./every_screen.mjs";
import { RealShop } from "./real_shop.mjs";

const [out, ...sizes] = process.argv.slice(2);
if (out === undefined) throw new Error("screens.mjs OUT_FOLDER [WIDTHxHEIGHT ...]");
const shop = await RealShop.open({ seed: Number(process.env.SEED ?? 3) });
const { browser, close } = await open_browser();
try {
  for (const size of sizes.length > 0 ? sizes : ["1280x800", "390x844", "1920x1080"]) {
    const [width, height] = size.split("x").map(Number);
    mkdirSync(join(out, size), { recursive: true });
    const page = await browser.newPage({ viewport: { width, height }, hasTouch: true });
    let number = 0;
    const look = async (of, name) => {
      await of.waitForTimeout(name === "biting" ? 0 : 250);
      number += 1;
      await of.screenshot({ path: join(out, size, `${String(number).padStart(2, "0")}-${name}.png`), fullPage: width < 800 && name !== "biting" });
    };
    const released = await fitting_screens(shop, page, look);
    const held = await held_screens(shop, page, look);
    await desk_screens(shop, page, look, { released, held });
    await page.close();
    console.log(`${size}: ${number} pictures in ${join(out, size)}`);
  }
} finally {
  await close();
  await shop.close();
}
