// A text field with keys on the page, for a panel without a keyboard. Hidden until asked for; a keyboard or a
// bar-code reader that types needs none of it.
import { t } from "./messages";
import { useRef, useState } from "preact/hooks";

const rows = ["1234567890", "QWERTYUIOP", "ASDFGHJKL", "ZXCVBNM-/."];

export function TextPad(props: {
  label: string;
  value: string;
  onChange: (text: string) => void;
  long?: boolean;
  lower?: boolean;   ///< the keys give small letters, as ids are written
  name?: string;
}) {
  const [open, setOpen] = useState(false);
  const field = useRef<HTMLInputElement & HTMLTextAreaElement>(null);
  const add = (text: string) => props.onChange((props.value + text).slice(0, 500));
  const keep_focus = (event: Event) => event.preventDefault();
  const key = (text: string, label: string, act: () => void, extra = "") => (
    <button type="button" key={label} class={`text-key ${extra}`} aria-label={label} onMouseDown={keep_focus} onClick={act}>{text}</button>
  );
  return (
    <div class="text-pad">
      <label>
        <span>{props.label}</span>
        {props.long ? (
          <textarea ref={field} rows={2} maxLength={500} value={props.value} onInput={(event) => props.onChange(event.currentTarget.value)} />
        ) : (
          <input ref={field} type="text" maxLength={100} name={props.name} autocomplete="off" spellcheck={false} value={props.value}
            onInput={(event) => props.onChange(event.currentTarget.value)} />
        )}
      </label>
      <button type="button" class="button keys-toggle" aria-expanded={open} onClick={() => setOpen(!open)}>{open ? t("common.hide_keys") : t("common.keys")}</button>
      {open && (
        <div class="text-keys" role="group" aria-label={t("common.keys_for", { label: props.label })}>
          {rows.map((row) => <div class="text-row" key={row}>{Array.from(props.lower || props.long ? row.toLowerCase() : row).map((letter) => key(letter, letter, () => add(letter)))}</div>)}
          <div class="text-row">
            {key(t("common.key_space_face"), t("common.key_space"), () => add(" "), "wide")}
            {key("⌫", t("common.key_back"), () => props.onChange(props.value.slice(0, -1)))}
            {key(t("common.key_clear_face"), t("common.key_clear"), () => props.onChange(""), "word")}
          </div>
        </div>
      )}
    </div>
  );
}
