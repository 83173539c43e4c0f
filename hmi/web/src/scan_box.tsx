// One box for whatever is scanned or typed first: a serial leads to its fitting, anything else is taken as a job. A
// scanner types fast and ends with Enter; it finds the box by itself where nothing has the focus, so that no
// soft keyboard opens on a phone.
import { useEffect, useRef, useState } from "preact/hooks";
import { api } from "./api";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { planned_recipe } from "./planned_recipe";
import { go_to } from "./routes";
import { TextPad } from "./text_pad";

/** Serials are written without blanks, in capitals; a scanner set otherwise must not make it another serial. */
const as_serial = (text: string) => text.replace(/\s+/g, "").toUpperCase();

export function ScanBox({ onJob }: { onJob: (job: string, recipe: string | null) => void }) {
  const [text, setText] = useState("");
  const [busy, setBusy] = useState(false);
  const [told, setTold] = useState("");
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const form = useRef<HTMLFormElement>(null);

  useEffect(() => {
    const field = () => form.current?.querySelector<HTMLInputElement>("input") ?? null;
    const catch_scan = (event: KeyboardEvent) => {
      const nowhere = document.activeElement === null || document.activeElement === document.body;
      if (nowhere && event.key.length === 1 && !event.ctrlKey && !event.altKey && !event.metaKey) field()?.focus({ preventScroll: true });
    };
    addEventListener("keydown", catch_scan);
    return () => removeEventListener("keydown", catch_scan);
  }, []);

  const look = async () => {
    const wanted = text.trim();
    if (wanted === "" || busy) return;
    setBusy(true);
    setTrouble(null);
    setTold(t("operator.scan_looking", { text: wanted }));
    const serial = as_serial(wanted);
    const found = await api.fitting(serial);
    if (found.kind === "taken") {
      go_to({ view: "fitting", serial });
      return;
    }
    const unknown = found.kind === "problem" && (found.status === 404 || found.status === 400);
    const planned = unknown ? await planned_recipe(wanted) : null;
    const earlier = unknown && planned === null ? await api.find(new URLSearchParams({ job: wanted, limit: "1" })) : null;
    setBusy(false);
    if (!unknown) {
      setTold("");
      setTrouble(found);
      return;
    }
    const recipe = planned ?? (earlier?.kind === "taken" ? earlier.body.fittings[0]?.recipe ?? null : null);
    setTold(planned !== null ? t("planner.scan_planned", { job: wanted }) : recipe === null ? t("operator.scan_job", { job: wanted }) : t("operator.scan_job_known", { job: wanted }));
    setText("");
    onJob(wanted, recipe);
  };

  return (
    <form ref={form} class="inline-form scan" onSubmit={(event) => { event.preventDefault(); void look(); }}>
      <TextPad label={t("operator.scan")} value={text} onChange={setText} name="scan" />
      <button type="submit" class="button primary" disabled={text.trim() === "" || busy}>{t("common.go_on")}</button>
      <p class="hint" role="status">{told === "" ? t("operator.scan_hint") : told}</p>
      <TroubleBox trouble={trouble} />
    </form>
  );
}
