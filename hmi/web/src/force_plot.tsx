// Force against gap while the dies close, over the envelope the recipe accepts. Gap runs from open on the left to
// closed on the right, so time runs left to right. uPlot draws axes and envelope; the trace is a loop (it closes,
// holds, opens) and is drawn over it sample by sample.
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { EnvelopePoint, SampleRow } from "./api";
import { language_now, t } from "./messages";
import { fixed } from "./units";
import { useSize } from "./use_size";

/** A bite that presses again has no envelope; what matters happens below this gap. */
const widest_mm_without_envelope = 2;

const ink = "#1f2529";
const soft = "#8a949b";
const warn = "#8a5a00";

interface Props {
  envelope: readonly EnvelopePoint[];
  target_kn: number;
  rows: readonly SampleRow[];
  changed: number;           ///< counts changes of rows
  whole_die?: boolean;       ///< the envelope is for a whole die length: shown for orientation, not to judge this bite by
  fill?: boolean;            ///< as high as there is room, else a fixed height
  label: string;
}

/** Accepted force at a gap between two envelope points, straight lines between them; null outside the envelope. */
export function accepted_at(envelope: readonly EnvelopePoint[], gap_mm: number): { least: number; most: number } | null {
  for (let at = 0; at + 1 < envelope.length; at += 1) {
    const a = envelope[at];
    const b = envelope[at + 1];
    if (a === undefined || b === undefined) continue;
    const low = Math.min(a.gap_mm, b.gap_mm);
    const high = Math.max(a.gap_mm, b.gap_mm);
    if (gap_mm < low || gap_mm > high || high === low) continue;
    const share = (gap_mm - a.gap_mm) / (b.gap_mm - a.gap_mm);
    return { least: a.least_kn + share * (b.least_kn - a.least_kn), most: a.most_kn + share * (b.most_kn - a.most_kn) };
  }
  return null;
}

/** One sample that can be drawn: gap within the sensor's range, force known. */
interface Point { force_kn: number; gap_mm: number }

function drawable(rows: readonly SampleRow[]): Point[] {
  const points: Point[] = [];
  for (const [, force_kn, gap_mm] of rows) if (force_kn !== null && gap_mm !== null) points.push({ force_kn, gap_mm });
  return points;
}

/** Index of the highest force, first reached: up to there the dies close, from there on they hold and open. */
function peak_at(points: readonly Point[]): number {
  let peak = -Infinity;
  let at = 0;
  points.forEach((point, index) => { if (point.force_kn > peak) { peak = point.force_kn; at = index; } });
  return at;
}

function outside(envelope: readonly EnvelopePoint[], point: Point): boolean {
  const band = accepted_at(envelope, point.gap_mm);
  return band !== null && (point.force_kn < band.least || point.force_kn > band.most);
}

function draw_trace(u: uPlot, points: readonly Point[], envelope: readonly EnvelopePoint[], judged: boolean) {
  const context = u.ctx;
  const ratio = uPlot.pxRatio;
  const turn = peak_at(points);
  const stroke = (from: number, to: number, colour: string, width: number, wanted: (point: Point) => boolean) => {
    context.strokeStyle = colour;
    context.lineWidth = width * ratio;
    context.beginPath();
    let pen_down = false;
    for (let at = from; at <= to && at < points.length; at += 1) {
      const point = points[at];
      if (point === undefined || !wanted(point)) { pen_down = false; continue; }
      const px = u.valToPos(point.gap_mm, "x", true);
      const py = u.valToPos(point.force_kn, "y", true);
      if (pen_down) context.lineTo(px, py); else context.moveTo(px, py);
      pen_down = true;
    }
    context.stroke();
  };
  context.save();
  context.setLineDash([]);
  context.beginPath();
  context.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height);
  context.clip();
  stroke(turn, points.length - 1, soft, 1.5, () => true);
  stroke(0, turn, ink, 3, () => true);
  if (judged) stroke(0, turn, warn, 6, (point) => outside(envelope, point));
  const newest = points[points.length - 1];
  if (newest !== undefined) {
    context.fillStyle = ink;
    context.beginPath();
    context.arc(u.valToPos(newest.gap_mm, "x", true), u.valToPos(newest.force_kn, "y", true), 5 * ratio, 0, 2 * Math.PI);
    context.fill();
  }
  context.restore();
}

export function ForcePlot(props: Props) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const newest = useRef(props);
  newest.current = props;
  const size = useSize(box);
  const width = size.width;
  const height = props.fill ? Math.max(150, size.height) : 240;
  const shape = JSON.stringify([props.envelope, props.target_kn, language_now()]);

  useEffect(() => {
    if (box.current === null || width < 50) return;
    const envelope = [...newest.current.envelope].sort((a, b) => a.gap_mm - b.gap_mm);
    const { target_kn } = newest.current;
    const widest = envelope[envelope.length - 1]?.gap_mm ?? widest_mm_without_envelope;
    const gaps = envelope.map((point) => point.gap_mm);
    const highest = Math.max(target_kn, ...envelope.map((point) => point.most_kn), 1);
    const u = new uPlot(
      {
        width,
        height,
        legend: { show: false },
        cursor: { show: false },
        scales: {
          x: { time: false, dir: -1, range: () => [-0.05 * widest, widest * 2] },
          y: { range: () => [0, Math.max(highest, ...drawable(newest.current.rows).map((point) => point.force_kn)) * 1.1] },
        },
        axes: [
          { label: t("operator.axis_gap"), labelSize: 22, size: 34, stroke: ink, grid: { stroke: "#c3cacf" }, ticks: { stroke: "#c3cacf" } },
          { label: t("operator.axis_force"), labelSize: 22, size: 52, stroke: ink, grid: { stroke: "#c3cacf" }, ticks: { stroke: "#c3cacf" } },
        ],
        series: [
          {},
          { stroke: soft, width: 2, points: { show: false } },
          { stroke: soft, width: 2, points: { show: false } },
          { stroke: soft, width: 1, dash: [8, 6], points: { show: false } },
        ],
        bands: [{ series: [2, 1], fill: "rgba(138,148,155,0.28)" }],
        hooks: { draw: [(self) => draw_trace(self, drawable(newest.current.rows), newest.current.envelope, newest.current.whole_die !== true)] },
      },
      [gaps, envelope.map((point) => point.least_kn), envelope.map((point) => point.most_kn), gaps.map(() => target_kn)],
      box.current,
    );
    plot.current = u;
    return () => { u.destroy(); plot.current = null; };
  }, [width, shape, height]);

  useEffect(() => {
    const frame = requestAnimationFrame(() => plot.current?.setData(plot.current.data));
    return () => cancelAnimationFrame(frame);
  }, [props.changed, props.rows]);

  return (
    <figure class={props.fill ? "plot fill" : "plot"}>
      <div class="plot-box" ref={box} role="img" aria-label={props.label} />
      <figcaption>{summary(props)}</figcaption>
    </figure>
  );
}

function summary({ rows, envelope, target_kn, whole_die }: Props): string {
  const points = drawable(rows);
  const band = envelope.length === 0 ? t("operator.band_none") : whole_die ? t("operator.band_whole") : t("operator.band");
  if (points.length === 0) return t("operator.no_trace", { band, force: fixed(target_kn, 0) });
  const peak = Math.max(...points.map((point) => point.force_kn));
  const least = Math.min(...points.map((point) => point.gap_mm));
  const wrong = whole_die ? 0 : points.slice(0, peak_at(points) + 1).filter((point) => outside(envelope, point)).length;
  const rest = wrong === 0 ? band : t("operator.trace_wrong", { count: wrong });
  return t("operator.trace_found", { force: fixed(peak, 0), gap: fixed(least, 3), rest });
}
