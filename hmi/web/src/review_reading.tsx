// What the station understood of the search box, and serials near to one that was not found.
import type { ReadPart, Reading } from "./api";
import { t } from "./messages";
import { address_of } from "./routes";

export function ReadingTold({ reading }: { reading: Reading }) {
  if (reading.parts.length === 0) return <p class="reading" role="status">{t("reviewer.reads_everything")}</p>;
  return (
    <div class="reading" data-reading>
      <span>{t("reviewer.reads_as")}</span>
      <ul>{reading.parts.map((part) => <li key={part.as}>{part_in_words(part)}</li>)}</ul>
    </div>
  );
}

function part_in_words({ as, value, words }: ReadPart): string {
  const [first = "", last = ""] = value.split("/");
  switch (as) {
    case "serial": return t("reviewer.as_serial", { value });
    case "serial_prefix": return t("reviewer.as_serial_prefix", { value });
    case "days": return first === last ? t("reviewer.as_day", { value: first }) : t("reviewer.as_days", { first, last });
    case "from": return t("reviewer.as_from", { value });
    case "until": return t("reviewer.as_until", { value });
    case "verdict": return t("reviewer.as_verdict", { value: verdict_in_words(value) });
    case "recipe": return t("reviewer.as_recipe", { value });
    case "job": return t("reviewer.as_job", { value });
    case "operator": return t("reviewer.as_operator", { value });
    case "rope_lot": return t("reviewer.as_rope_lot", { value });
    case "terminal_lot": return t("reviewer.as_terminal_lot", { value });
    case "die_pair": return t("reviewer.as_die_pair", { value });
    case "gauge": return t("reviewer.as_gauge", { value });
    case "finding": return t("reviewer.as_finding", { value });
    case "word": return t("reviewer.as_word", { value });
    default: return words;
  }
}

function verdict_in_words(verdict: string): string {
  switch (verdict) {
    case "accepted": return t("reviewer.verdict_accepted");
    case "re-pressed": return t("reviewer.verdict_re_pressed");
    case "scrapped": return t("reviewer.verdict_scrapped");
    case "held": return t("reviewer.verdict_held");
    default: return t("reviewer.verdict_open");
  }
}

export function NearSerials({ reading, near }: { reading: Reading | null; near: readonly string[] }) {
  const mistyped = reading?.serial_mistyped === true;
  return (
    <div class="near" role="status" data-near>
      <p>{mistyped ? t("reviewer.mistyped") : t("reviewer.nothing_found")}{near.length > 0 && ` ${t("reviewer.near")}`}</p>
      {near.length > 0 && (
        <ul class="button-row">
          {near.map((serial) => <li key={serial}><a class="button serial" href={address_of({ view: "fitting", serial })}>{serial}</a></li>)}
        </ul>
      )}
    </div>
  );
}
