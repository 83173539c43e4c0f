// Traces of two or more bites over one another: force against gap, with the band that the first was judged by.
import { useEffect, useState } from "preact/hooks";
import { api } from "./api";
import { read_dossier, type DossierBite } from "./dossier_reading";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { TextPad } from "./text_pad";
import { fixed } from "./units";
import { kn } from "./workshop_words";
import { XyPlot, type Dash, type Line } from "./xy_plot";

interface Listed { serial: string; sequence: number; bite: DossierBite }

const styles: readonly { dash: Dash; marks?: "circle" | "square" | "cross" }[] = [{ dash: "solid" }, { dash: "dashed" }, { dash: "dotted" }, { dash: "thin" }];
const most = styles.length;

const key_of = (listed: Listed) => `${listed.serial} ${listed.sequence}`;
const name_of = (listed: Listed) => t("technician.bite_name", { serial: listed.serial, pass: listed.bite.pass, bite: listed.bite.bite });

/** Closing only, to the highest force: opening tells nothing of the shank. */
function closing(bite: DossierBite): [number, number][] {
  const points = bite.rows.flatMap(([, force, gap]) => (force === null || gap === null ? [] : [[gap, force] as [number, number]]));
  let peak = 0;
  points.forEach((point, at) => { if (point[1] > (points[peak]?.[1] ?? 0)) peak = at; });
  return points.slice(0, peak + 1);
}

export function Compare({ first }: { first: string }) {
  const [serial, setSerial] = useState("");
  const [listed, setListed] = useState<Listed[]>([]);
  const [chosen, setChosen] = useState<Listed[]>([]);
  const [recent, setRecent] = useState<string[]>([]);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const look = async (wanted: string) => {
    const outcome = await api.dossier(wanted.trim().toUpperCase());
    if (outcome.kind !== "taken") return setTrouble(outcome);
    setTrouble(null);
    const name = wanted.trim().toUpperCase();
    const bites = read_dossier(outcome.body).flatMap((entry) => (entry.bite === null || entry.bite.rows.length === 0 ? [] : [{ serial: name, sequence: entry.sequence, bite: entry.bite }]));
    setListed((before) => [...before.filter((one) => one.serial !== name), ...bites]);
  };
  useEffect(() => { if (first !== "") void look(first); }, [first]);
  useEffect(() => {
    void api.find(new URLSearchParams({ limit: "12", from: new Date(Date.now() - 7 * 86_400_000).toISOString().slice(0, 10) })).then((outcome) => {
      if (outcome.kind === "taken") setRecent(outcome.body.fittings.map((row) => row.serial));
    });
  }, []);
  const flip = (one: Listed) => setChosen((before) => before.some((other) => key_of(other) === key_of(one)) ? before.filter((other) => key_of(other) !== key_of(one)) : before.length < most ? [...before, one] : before);
  const lines: Line[] = chosen.map((one, at) => ({ name: name_of(one), points: closing(one.bite), ...(styles[at] ?? { dash: "solid" }) }));
  const envelope = [...(chosen[0]?.bite.envelope ?? [])].sort((a, b) => a.gap_mm - b.gap_mm);
  const widest = Math.max(1, ...envelope.map((point) => point.gap_mm * 2));
  const highest = Math.max(10, ...lines.flatMap((line) => line.points.map((point) => point[1])), ...envelope.map((point) => point.most_kn));
  const offered = recent.filter((one) => !listed.some((other) => other.serial === one));
  return (
    <div class="workshop-columns compare">
      <section class="card">
        <h2>{t("technician.compare_title")}</h2>
        <form class="inline-form" onSubmit={(event) => { event.preventDefault(); if (serial.trim() !== "") { void look(serial); setSerial(""); } }}>
          <TextPad label={t("technician.compare_serial")} value={serial} onChange={setSerial} name="serial" />
          <button type="submit" class="button" disabled={serial.trim() === ""}>{t("technician.compare_list")}</button>
        </form>
        <TroubleBox trouble={trouble} />
        {offered.length > 0 && (
          <>
            <p class="hint">{t("technician.compare_recent")}</p>
            <div class="button-row">{offered.map((one) => <button type="button" class="button" key={one} data-serial={one} onClick={() => void look(one)}>{one}</button>)}</div>
          </>
        )}
        <p class="hint" role="status">{t("technician.compare_count", { count: chosen.length, most })}</p>
        <ul class="bites">
          {listed.map((one) => {
            const at = chosen.findIndex((other) => key_of(other) === key_of(one));
            return (
              <li key={key_of(one)}>
                <button type="button" class="choice" aria-pressed={at >= 0} disabled={at < 0 && chosen.length >= most} data-bite={key_of(one)} onClick={() => flip(one)}>
                  <span>{name_of(one)}</span><small>{t("technician.bite_line", { force: kn(Math.max(0, ...closing(one.bite).map((point) => point[1])), 0), count: one.bite.rows.length })}</small>
                </button>
              </li>
            );
          })}
        </ul>
      </section>
      <section class="card">
        {chosen.length === 0 ? <p class="hint">{t("technician.compare_none")}</p> : (
          <>
            <XyPlot label={t("technician.compare_plot", { count: chosen.length })} x_label={t("technician.axis_gap")} y_label={t("technician.axis_force")} lines={lines} x_reversed height={420}
              x_range={[-0.05 * widest, widest]} y_range={[0, highest * 1.08]}
              bands={envelope.length < 2 ? [] : [{ x: envelope.map((point) => point.gap_mm), least: envelope.map((point) => point.least_kn), most: envelope.map((point) => point.most_kn) }]}
              caption={envelope.length < 2 ? t("technician.compare_no_band") : t("technician.compare_band", { name: name_of(chosen[0] as Listed) })} />
            <Differences chosen={chosen} />
          </>
        )}
      </section>
    </div>
  );
}

function at_gap(points: readonly (readonly [number, number])[], gap: number): number | null {
  for (let at = 1; at < points.length; at += 1) {
    const before = points[at - 1];
    const after = points[at];
    if (before === undefined || after === undefined || before[0] < gap || after[0] > gap) continue;
    const part = before[0] === after[0] ? 0 : (before[0] - gap) / (before[0] - after[0]);
    return before[1] + part * (after[1] - before[1]);
  }
  return null;
}

/** The same forces in figures, for whoever cannot see the plot, and for exactness. */
function Differences({ chosen }: { chosen: readonly Listed[] }) {
  const gaps = chosen[0]?.bite.envelope.map((point) => point.gap_mm) ?? [];
  const wanted = gaps.length > 0 ? gaps : [0.5, 0.3, 0.15];
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={t("technician.compare_title")}>
      <table class="rows">
        <thead><tr><th scope="col">{t("technician.bite")}</th>{wanted.map((gap) => <th scope="col" key={gap}>{t("technician.force_at", { gap: fixed(gap, 2) })}</th>)}<th scope="col">{t("technician.peak")}</th></tr></thead>
        <tbody>
          {chosen.map((one) => {
            const points = closing(one.bite);
            return <tr key={key_of(one)}><th scope="row">{name_of(one)}</th>{wanted.map((gap) => <td key={gap}>{kn(at_gap(points, gap))}</td>)}<td>{kn(Math.max(0, ...points.map((point) => point[1])))}</td></tr>;
          })}
        </tbody>
      </table>
    </div>
  );
}
