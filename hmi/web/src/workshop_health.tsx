// The press's health: what it shows now, live; how the pressure stood while the dies were held, from the stored traces;
// and what the record tells of link, faults and zeroing.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type Press } from "./api";
import { Confirm } from "./confirm";
import { TroubleBox, type Trouble } from "./findings";
import type { LivePicture } from "./live";
import { t } from "./messages";
import { useDesk } from "./session";
import { Sign, type Meaning } from "./signs";
import { fixed } from "./units";
import { workshop_api, type HealthEvent, type Hold, type PressHealth } from "./workshop_api";
import { minute } from "./workshop_words";
import { XyPlot } from "./xy_plot";

/** From here on the pressure zero is worth a look: common practice, no source. */
const zero_bar_most = 1;
const rate_over_ms = 2000;

/** Scans a second, counted by this page over the last two seconds; null before there is enough. */
function useScanRate(press: Press | undefined): number | null {
  const seen = useRef<{ at: number; scan: number }[]>([]);
  const [rate, setRate] = useState<number | null>(null);
  const scan = press?.scan_number;
  useEffect(() => {
    if (scan === undefined) return;
    const now = performance.now();
    const kept = seen.current;
    if ((kept[kept.length - 1]?.scan ?? 0) > scan) kept.length = 0; // another start of the station
    kept.push({ at: now, scan });
    while (kept.length > 2 && now - (kept[1]?.at ?? now) > rate_over_ms) kept.shift();
    const first = kept[0];
    if (first !== undefined && now - first.at > 500) setRate(((scan - first.scan) * 1000) / (now - first.at));
  }, [scan]);
  return rate;
}

export function Health({ picture }: { picture: LivePicture }) {
  const [known, setKnown] = useState<PressHealth | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const press = picture.station?.press;
  const losses = press?.link;
  useEffect(() => {
    let wanted = true;
    const read = () => void workshop_api.health().then((outcome) => {
      if (!wanted) return;
      if (outcome.kind === "taken") setKnown(outcome.body);
      setTrouble(outcome.kind === "taken" ? null : outcome);
    });
    read();
    const again = setInterval(read, 5000);
    return () => { wanted = false; clearInterval(again); };
  }, [losses, press?.bite_number]);
  return (
    <div class="workshop-columns">
      <section class="card">
        <h2>{t("technician.health_now")}</h2>
        {press === undefined ? <p class="hint">{t("common.first_picture_awaited")}</p> : <Now press={press} stale={picture.stale} losses={known?.link_losses ?? null} />}
      </section>
      <section class="card">
        <h2>{t("technician.hold_title")}</h2>
        <TroubleBox trouble={trouble} />
        {known !== null && <HoldTrend holds={known.holds} />}
      </section>
      <section class="card wide">
        <h2>{t("technician.events_title")}</h2>
        {known !== null && (known.events.length === 0 ? <p class="hint">{t("technician.events_none")}</p> : <Events events={known.events} />)}
      </section>
    </div>
  );
}

function Now({ press, stale, losses }: { press: Press; stale: boolean; losses: number | null }) {
  const desk = useDesk();
  const rate = useScanRate(press);
  const [asking, setAsking] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const [done, setDone] = useState(false);
  const old = stale || !press.fresh;
  const off_zero = press.phase === "open" && Math.abs(press.pressure_bar) >= zero_bar_most;
  const link = press.link === "connected" ? t("common.link_connected") : press.link === "stale" ? t("common.link_stale") : press.link === "lost" ? t("common.link_lost") : t("common.link_never_connected");
  const tile = (name: string, text: string, meaning: Meaning = "neutral", more = "") => (
    <div class={`tile tile-${old ? "neutral" : meaning}`} data-health={name}>
      <dt>{name}</dt>
      <dd>{!old && meaning !== "neutral" && <Sign meaning={meaning} size={18} />}<span>{text}</span></dd>
      {more !== "" && <dd class="tile-more"><small>{more}</small></dd>}
    </div>
  );
  const zero = async () => {
    setAsking(false);
    const outcome = await api.press("zero-pressure");
    desk.took_answer(outcome);
    setTrouble(outcome.kind === "taken" ? null : outcome);
    setDone(outcome.kind === "taken");
  };
  const may = desk.person?.roles.some((role) => role === "technician" || role === "operator") ?? false;
  return (
    <div class={old ? "strip old plain" : "strip plain"} data-old={old}>
      {old && <p class="strip-old" role="alert"><Sign meaning="abnormal" /><span><b>{t("common.old_press_picture")}</b> {press.link_problem}</span></p>}
      <dl class="tiles" tabIndex={0}>
        {tile(t("technician.link"), link, press.link === "connected" ? "neutral" : "abnormal", losses === null ? "" : t("technician.link_losses", { count: losses }))}
        {tile(t("technician.scan_rate"), rate === null ? "…" : t("technician.scans_a_second", { rate: fixed(rate, 0) }), "neutral", t("technician.scan_age", { age: fixed(press.age_ms, 0) }))}
        {tile(t("common.tile_oil"), `${fixed(press.oil_temperature_c, 1)} °C`)}
        {tile(t("technician.pressure_now"), `${fixed(press.pressure_bar, 1)} bar`, off_zero ? "abnormal" : "neutral", press.phase === "open" ? t("technician.pressure_open") : t("technician.pressure_moving"))}
        {tile(t("technician.strokes"), fixed(press.stroke_total, 0))}
        {tile(t("technician.fault"), press.fault_code === 0 ? t("technician.fault_none") : `${press.fault_code}: ${press.fault}`, press.fault_code === 0 ? "neutral" : "abnormal")}
      </dl>
      <TroubleBox trouble={trouble} />
      {done && <p class="hint" role="status">{t("technician.zero_sent")}</p>}
      {may && <div class="button-row"><button type="button" class="button" disabled={old || press.phase !== "open"} onClick={() => setAsking(true)}>{t("common.zero_pressure")}</button></div>}
      <p class="hint">{t("technician.zero_hint")}</p>
      {asking && (
        <Confirm title={t("technician.zero_title")} yes={t("technician.zero_yes")} onYes={() => void zero()} onNo={() => setAsking(false)}>
          <p>{t("technician.zero_text", { bar: fixed(press.pressure_bar, 1) })}</p>
        </Confirm>
      )}
    </div>
  );
}

function HoldTrend({ holds }: { holds: readonly Hold[] }) {
  if (holds.length === 0) return <p class="hint">{t("technician.hold_none")}</p>;
  const newest = holds.slice(-20);
  // Weights by the samples' own scatter: the mean of many bites is known far better than any one.
  const weight = newest.map((hold) => 1 / Math.max(hold.bar_per_min_error, 0.01) ** 2);
  const total = weight.reduce((sum, one) => sum + one, 0);
  const mean = newest.reduce((sum, hold, at) => sum + hold.bar_per_min * (weight[at] ?? 0), 0) / total;
  const error = Math.sqrt(1 / total);
  const falls = mean + error < 0;
  return (
    <>
      <p class="with-sign big-line" role="status">
        <Sign meaning={falls ? "abnormal" : "neutral"} size={24} />
        {t(falls ? "technician.hold_falls" : "technician.hold_keeps", { mean: fixed(mean, 1), error: fixed(error, 1), count: newest.length })}
      </p>
      <XyPlot label={t("technician.hold_plot")} x_label={t("technician.hold_x")} y_label={t("technician.hold_y")} height={230}
        lines={[{ name: t("technician.hold_each"), points: holds.map((hold, at) => [at + 1, hold.bar_per_min] as const), error: holds.map((hold) => hold.bar_per_min_error), marks: "circle", line: false }]}
        help={[{ at: 0, upright: false, text: "" }]} caption={t("technician.hold_caption")} />
    </>
  );
}

function event_words(event: HealthEvent): string {
  switch (event.event) {
    case "link_lost": return t("technician.event_link_lost");
    case "link_connected": return t("technician.event_link_connected");
    case "clear_fault": return event.fault_code === 0 ? t("technician.event_clear_nothing") : t("technician.event_clear_fault", { code: event.fault_code, fault: event.fault });
    case "zero_pressure": return t("technician.event_zero");
    case "open_dies": return t("technician.event_open_dies");
  }
}

function Events({ events }: { events: readonly HealthEvent[] }) {
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={t("technician.events_title")}>
      <table class="rows">
        <thead><tr><th scope="col">{t("technician.when")}</th><th scope="col">{t("technician.what")}</th><th scope="col">{t("technician.who")}</th></tr></thead>
        <tbody>
          {events.map((event, at) => (
            <tr key={at}>
              <td>{minute(event.at_utc)}</td>
              <td><span class="with-sign"><Sign meaning={event.event === "link_lost" || (event.event === "clear_fault" && event.fault_code !== 0) ? "abnormal" : "neutral"} size={18} />{event_words(event)}</span>{event.detail !== "" && <small> {event.detail}</small>}</td>
              <td>{event.by === "station" ? t("common.station") : event.by}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
