// Keys large enough for gloves. The pad types into whichever reading is active; a keyboard or a gauge that types
// works beside it.

import { t } from "./messages";

export type PadKey = "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "." | "back" | "clear" | "next";

/** In rows of four. Where there is only one reading, the keys beside the digits are taller and "next" is left out. */
const keys: readonly PadKey[] = ["7", "8", "9", "back", "4", "5", "6", "clear", "1", "2", "3", "next", ".", "0"];

function spoken(key: PadKey): string {
  switch (key) {
    case ".": return t("common.key_point");
    case "back": return t("common.key_back_digit");
    case "clear": return t("common.key_clear_reading");
    case "next": return t("common.key_next");
    default: return key;
  }
}
const face = (key: PadKey) => (key === "back" ? "⌫" : key === "clear" ? t("common.key_clear_face") : key === "next" ? t("common.key_next_face") : key);

export function NumberPad({ onKey, several }: { onKey: (key: PadKey) => void; several: boolean }) {
  const key_button = (key: PadKey) => (
    <button
      type="button"
      key={key}
      class={`pad-key${key.length > 1 ? " pad-word" : ""}`}
      aria-label={spoken(key)}
      data-key={key}
      onMouseDown={(event) => event.preventDefault()} // keeps the caret in the reading
      onClick={() => onKey(key)}
    >
      {face(key)}
    </button>
  );
  return (
    <div class={several ? "pad several" : "pad"} role="group" aria-label={t("common.number_pad")}>
      {keys.filter((key) => several || key !== "next").map(key_button)}
    </div>
  );
}

/** The text after a key. One decimal point; at most ten characters. */
export function typed(text: string, key: PadKey): string {
  if (key === "clear") return "";
  if (key === "back") return text.slice(0, -1);
  if (key === "next") return text;
  if (key === "." && text.includes(".")) return text;
  return text.length >= 10 ? text : text + key;
}
