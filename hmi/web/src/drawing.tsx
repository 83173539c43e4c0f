// Section of shank, bore, rope, marks and dies along the axis, to scale in both directions. What is measured is drawn
// in full lines, what is only nominal or planned in dashes.
import { useRef } from "preact/hooks";
import type { Fitting, Press } from "./api";
import { geometry } from "./drawing_geometry";
import { length, useLengthUnit } from "./units";
import { useSize } from "./use_size";

const die_height_mm = 5;
const label_px = 14;
const line_px = 16;

export function SectionDrawing({ fitting, press, live }: { fitting: Fitting; press: Press; live: boolean }) {
  const box = useRef<HTMLDivElement>(null);
  const unit = useLengthUnit();
  const { width } = useSize(box);
  const g = geometry(fitting, press, live);
  const scale = width > 0 ? (width - 4) / (g.solid_mm + g.right_mm) : 4;
  const half_shank = (g.shank_diameter_mm / 2) * scale;
  const half_bore = (g.bore_diameter_mm / 2) * scale;
  const half_rope = (g.rope_diameter_mm / 2) * scale;
  const dies_shown = g.planned_edge_mm !== null;
  const above = dies_shown ? (g.die_opening_mm_max + die_height_mm) * scale + 2 * line_px : half_shank + 2.2 * line_px;
  const below = dies_shown ? (g.die_opening_mm_max + die_height_mm) * scale + 2.4 * line_px : half_shank + 3.2 * line_px;
  const height = above + below;
  const axis = above;
  const x = (mm: number) => 2 + (g.solid_mm + mm) * scale;
  const left = x(-g.solid_mm);
  const right = x(g.right_mm);
  const mouth = x(g.mouth_mm);
  const measured = (known: boolean) => (known ? "" : " nominal");

  const die = (edge_mm: number, opening_mm: number, kind: string, label: string) => {
    const at = x(edge_mm);
    const wide = g.die_length_mm * scale;
    const tall = die_height_mm * scale;
    const face = opening_mm * scale;
    return (
      <g class={`die ${kind}`}>
        <rect x={at} y={axis - face - tall} width={wide} height={tall} />
        <rect x={at} y={axis + face} width={wide} height={tall} />
        {label !== "" && wide > 70 && <text x={at + wide / 2} y={axis - face - tall / 2 + 5} text-anchor="middle">{label}</text>}
      </g>
    );
  };
  const text_at = (px: number) => (px > width * 0.8 ? "end" : px < width * 0.12 ? "start" : "middle");
  const bar_mm = unit === "in" ? 12.7 : 10;

  return (
    <figure class="drawing">
      <div ref={box}>
        {width > 0 && (
          <svg width={width} height={height} role="img" aria-label={description(fitting)} font-size={label_px}>
            {/* shank: solid on the left, bore open to the right */}
            <path class={`metal${measured(g.known.shank)}`}
              d={`M${left} ${axis - half_shank}H${mouth}V${axis - half_bore}H${x(0)}V${axis + half_bore}H${mouth}V${axis + half_shank}H${left}` +
                 `l5 ${-half_shank / 2}l-5 ${-half_shank / 2}l5 ${-half_shank / 2}z`} />
            <rect class={`rope${measured(g.known.rope)}`} x={x(g.rope_end_mm)} y={axis - half_rope} width={Math.max(0, right - x(g.rope_end_mm))} height={2 * half_rope} />
            <Lay from={x(g.rope_end_mm)} to={right} axis={axis} half={half_rope} />
            <line class="axis" x1={left} x2={right} y1={axis} y2={axis} />
            {g.accepted_edge !== null && (
              <rect class="edge-band" x={x(g.accepted_edge.least)} width={Math.max(2, (g.accepted_edge.most - g.accepted_edge.least) * scale)}
                y={axis - (g.die_opening_mm_max + die_height_mm) * scale} height={2 * (g.die_opening_mm_max + die_height_mm) * scale} />
            )}
            {g.planned_edge_mm !== null && die(g.planned_edge_mm, g.die_opening_mm, "planned", g.proven_edge_mm === null ? "planned" : "")}
            {g.proven_edge_mm !== null && die(g.proven_edge_mm, g.die_opening_mm, "proven", "measured")}
            {g.sensed_edge_mm !== null && (
              <path class="sensed" d={`M${x(g.sensed_edge_mm)} ${axis - g.die_opening_mm * scale - 2}l-6 -11h12z`}><title>Die edge by the sensor</title></path>
            )}
            {g.boundary_mark_mm !== null && (
              <g class="mark boundary">
                <line x1={x(g.boundary_mark_mm)} x2={x(g.boundary_mark_mm)} y1={axis - half_shank - 4} y2={axis + half_shank + 4} />
                <text x={x(g.boundary_mark_mm)} y={height - 1.5 * line_px + 5} text-anchor={text_at(x(g.boundary_mark_mm))}>boundary mark</text>
                <line class="leader" x1={x(g.boundary_mark_mm)} x2={x(g.boundary_mark_mm)} y1={axis + half_shank + 4} y2={height - 2.1 * line_px} />
              </g>
            )}
            {g.depth_mark_mm !== null && (
              <g class="mark depth">
                <line x1={x(g.depth_mark_mm)} x2={x(g.depth_mark_mm)} y1={axis - half_rope - 4} y2={axis + half_rope + 4} />
                <line class="leader" x1={x(g.depth_mark_mm)} x2={x(g.depth_mark_mm)} y1={axis + half_rope + 4} y2={height - 2.1 * line_px} />
                <text x={x(g.depth_mark_mm)} y={height - 1.5 * line_px + 5} text-anchor={text_at(x(g.depth_mark_mm))}>depth mark</text>
              </g>
            )}
            <text x={x(0)} y={dies_shown ? 14 : axis - half_shank - 8} text-anchor="middle">bore end</text>
            <text x={mouth} y={dies_shown ? 14 : axis - half_shank - 8} text-anchor={text_at(mouth)}>{g.mouth_has_moved ? "mouth before pressing" : "mouth"}</text>
            {dies_shown && <path class="leader" d={`M${x(0)} 18V${axis - half_shank}M${mouth} 18V${axis - half_shank}`} />}
            <g class="scale-bar">
              <path d={`M${left + 4} ${height - 10}v6h${bar_mm * scale}v-6`} />
              <text x={left + 10 + bar_mm * scale} y={height - 3}>{unit === "in" ? "1/2 in" : "10 mm"}</text>
            </g>
          </svg>
        )}
      </div>
      <figcaption>
        {g.planned_edge_mm === null ? "To scale. Dashes are nominal." : (
          <>To scale. Die edge to bore end: planned <b>{length(g.planned_edge_mm, unit)}</b>
            {g.proven_edge_mm !== null && <>, measured <b>{length(g.proven_edge_mm, unit)}</b></>}
            {g.sensed_edge_mm !== null && <>, sensor <b>{length(g.sensed_edge_mm, unit)}</b></>}</>
        )}
      </figcaption>
    </figure>
  );
}

/** Slanted strokes that make the rope look laid. */
function Lay({ from, to, axis, half }: { from: number; to: number; axis: number; half: number }) {
  const strokes: string[] = [];
  for (let at = from + 4; at + half < to; at += Math.max(6, half * 0.9)) strokes.push(`M${at} ${axis + half}l${half} ${-2 * half}`);
  return <path class="lay" d={strokes.join("")} />;
}

function description(fitting: Fitting): string {
  const { evidence } = fitting;
  const parts = ["Section of the shank with its bore"];
  parts.push(evidence.insertion_mm !== undefined ? "rope inserted" : "rope not inserted");
  if (evidence.boundary_mark_mm !== undefined) parts.push("boundary mark made");
  if (evidence.depth_mark_mm !== undefined) parts.push("depth mark made");
  return `${parts.join(", ")}.`;
}
