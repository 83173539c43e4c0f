// Keys large enough for gloves. The pad types into whichever reading is active; a keyboard or a gauge that types
// works beside it.

export type PadKey = "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "." | "back" | "clear" | "next";

/** In rows of four. Where there is only one reading, the keys beside the digits are taller and "next" is left out. */
const keys: readonly PadKey[] = ["7", "8", "9", "back", "4", "5", "6", "clear", "1", "2", "3", "next", ".", "0"];

const spoken: Partial<Record<PadKey, string>> = {
  ".": "decimal point", back: "delete last digit", clear: "clear this reading", next: "next reading",
};
const face: Partial<Record<PadKey, string>> = { back: "⌫", clear: "Clear", next: "Next" };

export function NumberPad({ onKey, several }: { onKey: (key: PadKey) => void; several: boolean }) {
  const key_button = (key: PadKey) => (
    <button
      type="button"
      key={key}
      class={`pad-key${key.length > 1 ? " pad-word" : ""}`}
      aria-label={spoken[key] ?? key}
      data-key={key}
      onMouseDown={(event) => event.preventDefault()} // keeps the caret in the reading
      onClick={() => onKey(key)}
    >
      {face[key] ?? key}
    </button>
  );
  return (
    <div class={several ? "pad several" : "pad"} role="group" aria-label="Number pad">
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
