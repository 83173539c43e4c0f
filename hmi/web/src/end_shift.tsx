// Handing over: the record is sealed, control of the press given up, the person signed out. What lies at the press stays
// there, and the next person is told.
import { useState } from "preact/hooks";
import type { Station } from "./api";
import { Confirm } from "./confirm";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { useDesk } from "./session";

export function EndShift({ station }: { station: Station | null }) {
  const desk = useDesk();
  const [asking, setAsking] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const active = station?.active ?? null;
  const bite = active !== null && ["permit_recorded", "permit_given", "biting"].includes(active.stage);
  const lies = active !== null && !["hold", "aside", "released", "scrapped"].includes(active.stage) ? active.serial : null;
  const waits = { aside: station?.set_aside.length ?? 0, held: station?.held.length ?? 0 };
  const end = async () => {
    const outcome = await desk.end_shift();
    if (outcome.kind !== "taken") setTrouble(outcome);
  };
  return (
    <>
      <button type="button" class="button" onClick={() => { setTrouble(null); setAsking(true); }}>{t("operator.end_shift")}</button>
      {asking && (
        <Confirm title={t("operator.end_shift_title")} yes={t("operator.end_shift_yes")} blocked={bite} onYes={() => void end()} onNo={() => setAsking(false)}>
          {bite ? <p>{t("operator.end_shift_bite")}</p> : (
            <>
              <p>{t("operator.end_shift_seals")}</p>
              {lies !== null && <p><b>{t("operator.end_shift_open", { serial: lies })}</b></p>}
              {waits.aside + waits.held > 0 && <p>{t("operator.end_shift_waits", waits)}</p>}
            </>
          )}
          <TroubleBox trouble={trouble} />
        </Confirm>
      )}
    </>
  );
}
