// Fittings that wait: put aside by the operator, or on hold for a reviewer.
import { useState } from "preact/hooks";
import { api } from "./api";
import { t } from "./messages";
import { TroubleBox, type Trouble } from "./findings";
import { go_to } from "./routes";
import { useDesk } from "./session";
import { Sign } from "./signs";

export function Waiting({ set_aside, held }: { set_aside: readonly string[]; held: readonly string[] }) {
  const desk = useDesk();
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const resume = async (serial: string) => {
    setBusy(true);
    setTrouble(null);
    const outcome = await api.act(serial, "resume");
    setBusy(false);
    desk.took_answer(outcome);
    if (outcome.kind !== "taken") setTrouble(outcome);
  };
  return (
    <section class="card waiting">
      <h2>{t("operator.waiting")}</h2>
      <TroubleBox trouble={trouble} />
      <h3><Sign meaning="neutral" size={22} />{t("operator.put_aside_list")}</h3>
      {set_aside.length === 0 && <p class="hint">{t("operator.none")}</p>}
      <ul class="serials">
        {set_aside.map((serial) => (
          <li key={serial}>
            <span class="serial">{serial}</span>
            <button type="button" class="button" onClick={() => go_to({ view: "fitting", serial })}>{t("operator.look")}</button>
            <button type="button" class="button" disabled={busy || desk.person === null} onClick={() => void resume(serial)}>{t("operator.resume")}</button>
          </li>
        ))}
      </ul>
      <h3><Sign meaning={held.length > 0 ? "abnormal" : "neutral"} size={22} />{t("operator.held_list")}</h3>
      {held.length === 0 && <p class="hint">{t("operator.none")}</p>}
      <ul class="serials">
        {held.map((serial) => (
          <li key={serial}>
            <span class="serial">{serial}</span>
            <button type="button" class="button" onClick={() => go_to({ view: "fitting", serial })}>
              {desk.person?.roles.includes("reviewer") ? t("operator.decide") : t("operator.look")}
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}
