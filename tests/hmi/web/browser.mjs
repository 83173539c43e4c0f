// The browser of the system, driven by playwright-core; no browser is downloaded.
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const executablePath = process.env.CHROMIUM ?? "/usr/bin/chromium";

export async function open_browser() {
  const profile = mkdtempSync(join(tmpdir(), "shankwright-browser-"));
  const browser = await chromium.launch({
    executablePath,
    headless: true,
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
    env: { ...process.env, HOME: profile },
  });
  return { browser, close: async () => { await browser.close(); rmSync(profile, { recursive: true, force: true }); } };
}
