// What runs out, most urgent first. Shape and words say how urgent; the day stands beside.
import { useEffect, useState } from "preact/hooks";
import type { Trouble } from "./findings";
import { TroubleBox } from "./findings";
import { t } from "./messages";
import { useDesk } from "./session";
import { Sign, type Meaning } from "./signs";
import { workshop_api, type DueItem, type DueKind, type Urgency } from "./workshop_api";

const meaning_of: Record<Urgency, Meaning> = { overdue: "danger", soon: "abnormal", later: "neutral" };

function kind_words(kind: DueKind): string {
  switch (kind) {
    case "press_calibration": return t("technician.due_press");
    case "gauge_calibration": return t("technician.due_gauge");
    case "die_inspection": return t("technician.due_inspection");
    case "die_life": return t("technician.due_life");
    case "qualification": return t("technician.due_qualification");
  }
}

function left_words(item: DueItem): string {
  if (item.kind === "die_life") {
    if (item.strokes_left === null) return t("technician.due_strokes_unknown");
    return item.strokes_left <= 0 ? t("technician.due_worn_out") : t("technician.due_strokes_left", { left: item.strokes_left, life: item.life_strokes ?? 0 });
  }
  if (item.days_left === null) return t("technician.due_never");
  if (item.days_left < 0) return t("technician.due_days_ago", { days: -item.days_left });
  if (item.days_left === 0) return t("technician.due_today");
  return t("technician.due_days_left", { days: item.days_left });
}

function urgency_words(urgency: Urgency): string {
  return urgency === "overdue" ? t("technician.urgency_overdue") : urgency === "soon" ? t("technician.urgency_soon") : t("technician.urgency_later");
}

export function FallsDue() {
  const desk = useDesk();
  const [items, setItems] = useState<DueItem[] | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const [all, setAll] = useState(false);
  useEffect(() => {
    void workshop_api.due().then((outcome) => {
      if (outcome.kind === "taken") setItems(outcome.body.items);
      else setTrouble(outcome);
    });
  }, []);
  const urgent = items?.filter((item) => item.urgency !== "later").length ?? 0;
  const shown = items?.filter((item) => all || item.urgency !== "later") ?? [];
  const name_of = (item: DueItem) => (item.kind === "qualification" ? desk.library?.people.find((person) => person.id === item.id)?.name ?? item.id : item.id);
  return (
    <section class="card workshop-body">
      <h2>{t("technician.due_title")}</h2>
      <TroubleBox trouble={trouble} />
      {items === null && trouble === null && <p class="hint" role="status">{t("technician.asking")}</p>}
      {items !== null && (
        <>
          <p class="due-sum" role="status"><Sign meaning={urgent === 0 ? "normal" : "abnormal"} size={24} />{urgent === 0 ? t("technician.due_none") : t("technician.due_count", { count: urgent })}</p>
          <div class="scroll" tabIndex={0} role="region" aria-label={t("technician.due_title")}>
            <table class="rows due-rows">
              <thead><tr><th scope="col">{t("technician.urgency")}</th><th scope="col">{t("technician.due_what")}</th><th scope="col">{t("technician.due_which")}</th><th scope="col">{t("technician.due_left")}</th><th scope="col">{t("technician.due_day")}</th></tr></thead>
              <tbody>
                {shown.map((item) => (
                  <tr key={`${item.kind} ${item.id} ${item.about}`} data-urgency={item.urgency}>
                    <td><span class="with-sign"><Sign meaning={meaning_of[item.urgency]} size={22} />{urgency_words(item.urgency)}</span></td>
                    <td>{kind_words(item.kind)}</td>
                    <td><b>{name_of(item)}</b>{item.about !== "" && <small> {item.about.replaceAll("_", " ")}</small>}</td>
                    <td>{left_words(item)}</td>
                    <td>{item.due ?? ""}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
          <div class="button-row">
            <button type="button" class="button" aria-pressed={all} onClick={() => setAll(!all)}>
              {all ? t("technician.due_hide_later") : t("technician.due_show_later", { count: items.length - urgent })}
            </button>
          </div>
          <p class="hint">{t("technician.due_note")}</p>
        </>
      )}
    </section>
  );
}
