// A plot of lines and points over two axes with their units. uPlot gives axes and scales; what is drawn need not share
// its x values. Lines are told apart by their dash and their mark, never by colour alone: see Line.
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { useSize } from "./use_size";

export type Dash = "solid" | "dashed" | "dotted" | "thin";
export interface Line {
  name: string;                                  ///< beside its sample below the plot; "" for a help line
  points: readonly (readonly [number, number])[];
  dash?: Dash;
  marks?: "circle" | "square" | "cross";         ///< at each point
  line?: boolean;                                ///< false: marks alone
  error?: readonly number[];                     ///< half length of an upright bar at each point
}
/** Area between two lines over the same x. */
export interface Band { x: readonly number[]; least: readonly number[]; most: readonly number[] }
export interface HelpLine { at: number; upright: boolean; text: string }

const ink = "#1f2529";
const soft = "#6b757c";
const dashes: Record<Dash, readonly number[]> = { solid: [], dashed: [9, 5], dotted: [2, 4], thin: [] };

interface Props {
  label: string;           ///< what a screen reader is told
  x_label: string;
  y_label: string;
  lines: readonly Line[];
  bands?: readonly Band[];
  help?: readonly HelpLine[];
  x_range?: readonly [number, number];
  y_range?: readonly [number, number];
  x_reversed?: boolean;
  height?: number;
  caption?: string;
}

function range_of(values: readonly number[], given: readonly [number, number] | undefined): [number, number] {
  if (given !== undefined) return [given[0], given[1]];
  const finite = values.filter((value) => Number.isFinite(value));
  if (finite.length === 0) return [0, 1];
  const least = Math.min(...finite);
  const most = Math.max(...finite);
  const room = most > least ? (most - least) * 0.06 : Math.max(1, Math.abs(most) * 0.1);
  return [least - room, most + room];
}

function draw_mark(context: CanvasRenderingContext2D, mark: "circle" | "square" | "cross", x: number, y: number, size: number) {
  context.beginPath();
  if (mark === "circle") context.arc(x, y, size, 0, 2 * Math.PI);
  if (mark === "square") context.rect(x - size, y - size, 2 * size, 2 * size);
  if (mark === "cross") {
    context.moveTo(x - size, y - size);
    context.lineTo(x + size, y + size);
    context.moveTo(x + size, y - size);
    context.lineTo(x - size, y + size);
    context.stroke();
    return;
  }
  context.fill();
}

function draw(u: uPlot, props: Props) {
  const context = u.ctx;
  const ratio = uPlot.pxRatio;
  const px = (x: number) => u.valToPos(x, "x", true);
  const py = (y: number) => u.valToPos(y, "y", true);
  context.save();
  context.beginPath();
  context.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height);
  context.clip();
  context.fillStyle = "rgba(138,148,155,0.28)";
  for (const band of props.bands ?? []) {
    context.beginPath();
    band.x.forEach((x, at) => context.lineTo(px(x), py(band.most[at] ?? 0)));
    for (let at = band.x.length - 1; at >= 0; at -= 1) context.lineTo(px(band.x[at] ?? 0), py(band.least[at] ?? 0));
    context.fill();
  }
  context.textAlign = "left"; // as the axes have left it, otherwise
  context.textBaseline = "alphabetic";
  context.font = `${12 * ratio}px system-ui, sans-serif`;
  for (const help of props.help ?? []) {
    context.strokeStyle = soft;
    context.lineWidth = 1.5 * ratio;
    context.setLineDash([4 * ratio, 4 * ratio]);
    context.beginPath();
    if (help.upright) {
      context.moveTo(px(help.at), u.bbox.top);
      context.lineTo(px(help.at), u.bbox.top + u.bbox.height);
    } else {
      context.moveTo(u.bbox.left, py(help.at));
      context.lineTo(u.bbox.left + u.bbox.width, py(help.at));
    }
    context.stroke();
    context.fillStyle = ink;
    const wide = context.measureText(help.text).width;
    if (help.upright) {
      const right = px(help.at) + 5 * ratio + wide > u.bbox.left + u.bbox.width;
      context.fillText(help.text, right ? px(help.at) - wide - 5 * ratio : px(help.at) + 5 * ratio, u.bbox.top + 14 * ratio);
    } else {
      context.fillText(help.text, u.bbox.left + u.bbox.width - wide - 4 * ratio, py(help.at) - 4 * ratio);
    }
  }
  for (const line of props.lines) {
    const dash = line.dash ?? "solid";
    context.strokeStyle = ink;
    context.fillStyle = ink;
    context.lineWidth = (dash === "thin" ? 1.2 : 2.5) * ratio;
    context.setLineDash(dashes[dash].map((part) => part * ratio));
    if (line.line !== false) {
      context.beginPath();
      line.points.forEach(([x, y], at) => (at === 0 ? context.moveTo(px(x), py(y)) : context.lineTo(px(x), py(y))));
      context.stroke();
    }
    context.setLineDash([]);
    context.lineWidth = 1.5 * ratio;
    line.points.forEach(([x, y], at) => {
      const half = line.error?.[at];
      if (half !== undefined) {
        context.beginPath();
        context.moveTo(px(x), py(y - half));
        context.lineTo(px(x), py(y + half));
        context.stroke();
      }
      if (line.marks !== undefined) draw_mark(context, line.marks, px(x), py(y), 4 * ratio);
    });
  }
  context.restore();
}

export function XyPlot(props: Props) {
  const box = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const newest = useRef(props);
  newest.current = props;
  const { width } = useSize(box);
  const height = props.height ?? 260;
  useEffect(() => {
    if (box.current === null || width < 50) return;
    const all = (axis: 0 | 1) => [
      ...newest.current.lines.flatMap((line) => line.points.flatMap((point, at) => axis === 0 ? [point[0]] : [point[1] - (line.error?.[at] ?? 0), point[1] + (line.error?.[at] ?? 0)])),
      ...(newest.current.bands ?? []).flatMap((band) => (axis === 0 ? band.x : [...band.least, ...band.most])),
      ...(newest.current.help ?? []).filter((help) => help.upright === (axis === 0)).map((help) => help.at),
    ];
    const grid = { stroke: "#c3cacf" };
    const u = new uPlot(
      {
        width,
        height,
        legend: { show: false },
        cursor: { show: false },
        scales: {
          x: { time: false, dir: newest.current.x_reversed ? -1 : 1, range: () => range_of(all(0), newest.current.x_range) },
          y: { range: () => range_of(all(1), newest.current.y_range) },
        },
        axes: [
          { label: newest.current.x_label, labelSize: 22, size: 34, stroke: ink, grid, ticks: grid },
          { label: newest.current.y_label, labelSize: 22, size: 56, stroke: ink, grid, ticks: grid },
        ],
        series: [{}, { show: false }],
        hooks: { draw: [(self) => draw(self, newest.current)] },
      },
      [[0, 1], [0, 1]],
      box.current,
    );
    plot.current = u;
    return () => { u.destroy(); plot.current = null; };
  }, [width, height, props.x_label, props.y_label, props.x_reversed]);
  useEffect(() => {
    const frame = requestAnimationFrame(() => plot.current?.setData(plot.current.data));
    return () => cancelAnimationFrame(frame);
  }, [props.lines, props.bands, props.help]);
  return (
    <figure class="plot">
      <div class="plot-box" ref={box} role="img" aria-label={props.label} />
      <ul class="plot-lines">
        {props.lines.filter((line) => line.name !== "").map((line) => <li key={line.name}><LineSample line={line} />{line.name}</li>)}
      </ul>
      {props.caption !== undefined && <figcaption>{props.caption}</figcaption>}
    </figure>
  );
}

function LineSample({ line }: { line: Line }) {
  const dash = line.dash ?? "solid";
  return (
    <svg width="44" height="14" viewBox="0 0 44 14" aria-hidden="true">
      {line.line !== false && <line x1="1" y1="7" x2="43" y2="7" stroke={ink} stroke-width={dash === "thin" ? 1.2 : 2.5} stroke-dasharray={dashes[dash].join(" ")} />}
      {line.marks === "circle" && <circle cx="22" cy="7" r="4.5" fill={ink} />}
      {line.marks === "square" && <rect x="17.5" y="2.5" width="9" height="9" fill={ink} />}
      {line.marks === "cross" && <path d="M17 2l10 10M27 2L17 12" stroke={ink} stroke-width="2" />}
    </svg>
  );
}
