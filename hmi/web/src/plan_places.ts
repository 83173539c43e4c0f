// Where in a job a fault stands, from its JSON pointer to words: "line 2, end B, recipe".
import { t } from "./messages";
import { words } from "./kinds";

export function place_words(pointer: string): string {
  const parts = pointer.split("/").slice(1);
  const said: string[] = [];
  for (let at = 0; at < parts.length; at += 1) {
    const part = parts[at] ?? "";
    const number = Number(parts[at + 1]);
    if (part === "assemblies" && Number.isInteger(number)) {
      said.push(t("planner.line_number", { number: number + 1 }));
      at += 1;
    } else if (part === "ends" && Number.isInteger(number)) {
      said.push(number === 0 ? t("planner.end_a") : t("planner.end_b"));
      at += 1;
    } else {
      said.push(words(part));
    }
  }
  return said.length === 0 ? t("planner.the_job") : said.join(", ");
}
