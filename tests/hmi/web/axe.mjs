// axe-core's judgement of a screen as it stands: WCAG 2.2 AA and its best practices.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What axe-core objects to, each in a line. Evaluated by the browser itself: the page's own policy lets no script in. */
export async function objections(page) {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(`${source}; null`);
  const { violations } = await page.evaluate(() => window.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], resultTypes: ["violations"],
  }));
  return violations.flatMap((found) => found.nodes.map((node) => `${found.id}: ${node.target.join(" ")}: ${node.failureSummary?.split("\n")[1]?.trim() ?? found.help}`));
}
