// A question before something that is not taken back by a second touch.
import { useEffect, useRef } from "preact/hooks";
import type { ComponentChildren } from "preact";
import { t } from "./messages";

export function Confirm(props: {
  title: string;
  children: ComponentChildren;
  yes: string;
  blocked?: boolean;  ///< the children say why it cannot be done now
  onYes: () => void;
  onNo: () => void;
}) {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => { dialog.current?.showModal(); }, []);
  return (
    <dialog ref={dialog} class="confirm" aria-label={props.title} onCancel={(event) => { event.preventDefault(); props.onNo(); }}>
      <h2>{props.title}</h2>
      <div>{props.children}</div>
      <div class="button-row">
        <button type="button" class="button" onClick={props.onNo}>{t("common.go_back")}</button>
        <button type="button" class="button strong" disabled={props.blocked} onClick={props.onYes}>{props.yes}</button>
      </div>
    </dialog>
  );
}
