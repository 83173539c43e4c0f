// Which gauge the value is read with. Only kinds that can read it are offered; the last one used is kept per kind of
// evidence on this device. A gauge past its calibration date is shown, so that it is missed by nobody, and cannot be chosen.
import type { Gauge } from "./api";
import { t } from "./messages";
import { recall, remember } from "./memory";
import { gauge_words } from "./station_words";

export function fitting_gauges(gauges: readonly Gauge[], kinds: readonly string[]): Gauge[] {
  return gauges.filter((gauge) => kinds.includes(gauge.kind));
}

export function last_gauge(evidence_kind: string, gauges: readonly Gauge[]): string {
  const in_date = gauges.filter((gauge) => gauge.in_date);
  const kept = recall(`gauge.${evidence_kind}`);
  if (in_date.some((gauge) => gauge.id === kept)) return kept ?? "";
  return in_date.length === 1 ? (in_date[0]?.id ?? "") : "";
}

export function GaugeChoice(props: {
  evidence_kind: string;
  gauges: readonly Gauge[];
  chosen: string;
  onChoose: (id: string) => void;
}) {
  if (props.gauges.length === 0) {
    return <p class="hint">{t("operator.no_gauge")}</p>;
  }
  const choose = (id: string) => {
    remember(`gauge.${props.evidence_kind}`, id);
    props.onChoose(id);
  };
  return (
    <fieldset class="gauges">
      <legend>{t("operator.gauge")}</legend>
      <div class="choice-row">
        {props.gauges.map((gauge) => (
          <button
            type="button"
            key={gauge.id}
            class="choice"
            aria-pressed={gauge.id === props.chosen}
            disabled={!gauge.in_date}
            data-gauge={gauge.id}
            onClick={() => choose(gauge.id)}
          >
            <span>{gauge.id}</span>
            <small>{gauge.in_date ? gauge_words(gauge.kind) : gauge.calibration_due === null ? t("operator.gauge_unknown") : t("operator.gauge_was_due", { date: gauge.calibration_due })}</small>
          </button>
        ))}
      </div>
    </fieldset>
  );
}
