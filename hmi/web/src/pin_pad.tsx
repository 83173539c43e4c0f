// A PIN by gloves: dots for what was typed, never the digits. A keyboard works in the same field.
import { useEffect, useRef } from "preact/hooks";
import { t } from "./messages";

export const pin_digits_least = 4;
export const pin_digits_most = 12;

type Key = "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "back" | "clear";
const keys: readonly Key[] = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "clear", "0", "back"];
const spoken = (key: Key) => (key === "back" ? t("common.key_back_digit") : key === "clear" ? t("common.key_clear_pin") : key);
const face = (key: Key) => (key === "back" ? "⌫" : key === "clear" ? t("common.key_clear_face") : key);

export function PinPad(props: { label: string; value: string; onChange: (pin: string) => void; disabled?: boolean; focus?: boolean }) {
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => { if (props.focus) field.current?.focus({ preventScroll: true }); }, [props.focus, props.label, props.disabled]);
  const take = (text: string) => props.onChange(text.replace(/\D/g, "").slice(0, pin_digits_most));
  const press = (key: Key) => {
    if (key === "clear") props.onChange("");
    else if (key === "back") props.onChange(props.value.slice(0, -1));
    else take(props.value + key);
  };
  return (
    <div class="pin">
      <label class="pin-field">
        <span>{props.label}</span>
        {/* No soft keyboard: the keys below are larger. The browser keeps no PIN of a shared device. */}
        <input ref={field} type="password" name="pin" inputMode="none" autocomplete="off" maxLength={pin_digits_most} value={props.value}
          disabled={props.disabled} onInput={(event) => take(event.currentTarget.value)} />
      </label>
      <div class="pin-keys" role="group" aria-label={t("common.pin_pad")}>
        {keys.map((key) => (
          <button type="button" key={key} class={`pad-key${key.length > 1 ? " pad-word" : ""}`} aria-label={spoken(key)} data-pin-key={key}
            disabled={props.disabled} onMouseDown={(event) => event.preventDefault()} onClick={() => press(key)}>
            {face(key)}
          </button>
        ))}
      </div>
    </div>
  );
}
