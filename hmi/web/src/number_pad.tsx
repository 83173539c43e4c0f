// Keys large enough for gloves. The pad types into whichever reading is active; a keyboard or a gauge that types
// works beside it.

export type PadKey = "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "." | "back" | "clear" | "next";

const rows: readonly (readonly [PadKey, PadKey, PadKey])[] = [
  ["7", "8", "9"],
  ["4", "5", "6"],
  ["1", "2", "3"],
  [".", "0", "back"],
];

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
    <div class="pad" role="group" aria-label="Number pad">
      {rows.flat().map(key_button)}
      <div class={several ? "pad-foot two" : "pad-foot"}>
        {key_button("clear")}
        {several && key_button("next")}
      </div>
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
