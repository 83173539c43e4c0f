// Section of shank, bore, rope, marks and dies along the axis, to scale in both directions. What is measured is drawn
// in full lines, what is only nominal or planned in dashes.
import { useRef } from "preact/hooks";
import type { Fitting, Press } from "./api";
import { asked_dimension, with_draft, type Dimension } from "./drawing_asked";
import { geometry } from "./drawing_geometry";
import { kind_of } from "./kinds";
import { t } from "./messages";
import type { Draft } from "./readings";
import { TurnDrawing } from "./turn_drawing";
import { length, useLengthUnit } from "./units";
import { useSize } from "./use_size";

const die_height_mm = 5;
const label_px = 14;
const line_px = 16;
const dimension_px = 30; // the row that the asked dimension stands in

interface DrawingProps { fitting: Fitting; press: Press; live: boolean; draft: Draft | null }

/** From the end while an angle is asked for, else from the side. */
export function FittingDrawing(props: DrawingProps) {
  return ["turn", "reseated"].includes(props.fitting.next.input) ? <TurnDrawing {...props} /> : <SectionDrawing {...props} />;
}

function SectionDrawing({ fitting, press, live, draft }: DrawingProps) {
  const box = useRef<HTMLDivElement>(null);
  const unit = useLengthUnit();
  const { width } = useSize(box);
  const g = geometry(with_draft(fitting, draft), press, live);
  const asked = asked_dimension(fitting.next.input, fitting, g);
  const what = asked === null ? "" : kind_of(fitting.next.input).label;
  const scale = width > 0 ? (width - 4) / (g.solid_mm + g.right_mm) : 4;
  const half_shank = (g.shank_diameter_mm / 2) * scale;
  const half_bore = (g.pressed ? g.rope_diameter_mm / 2 : g.bore_diameter_mm / 2) * scale;
  const half_pressed = g.pressed ? (fitting.drawing.die_across_flats_mm / 2) * scale : half_shank;
  const half_rope = (g.rope_diameter_mm / 2) * scale;
  const dies_shown = g.planned_edge_mm !== null;
  const above = dies_shown ? (g.die_opening_mm_max + die_height_mm) * scale + 2 * line_px : half_shank + 2.2 * line_px;
  const below = dies_shown ? (g.die_opening_mm_max + die_height_mm) * scale + 2.4 * line_px : half_shank + 3.2 * line_px;
  const row = asked === null ? 0 : dimension_px;
  const height = above + below + row;
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
  const text_at = (px: number) => (px > width * 0.8 ? "end" : px < Math.max(width * 0.12, 56) ? "start" : "middle"); // no word is cut off
  const bar_mm = unit === "in" ? 12.7 : 10;

  return (
    <figure class="drawing">
      <div ref={box}>
        {width > 0 && (
          <svg width={width} height={height} role="img" aria-label={description(fitting, what, draft?.outside === true)} font-size={label_px}>
            {/* shank: solid on the left, bore open to the right */}
            <path class={`metal${measured(g.known.shank)}`}
              d={`M${left} ${axis - half_shank}H${x(0)}V${axis - half_pressed}H${mouth}V${axis - half_bore}H${x(0)}V${axis + half_bore}H${mouth}V${axis + half_pressed}H${x(0)}V${axis + half_shank}H${left}` +
                 `l5 ${-half_shank / 2}l-5 ${-half_shank / 2}l5 ${-half_shank / 2}z`} />
            <rect class={`rope${measured(g.known.rope)}`} x={x(g.rope_end_mm)} y={axis - half_rope} width={Math.max(0, right - x(g.rope_end_mm))} height={2 * half_rope} />
            <Lay from={x(g.rope_end_mm)} to={right} axis={axis} half={half_rope} />
            <line class="axis" x1={left} x2={right} y1={axis} y2={axis} />
            {g.accepted_edge !== null && (
              <rect class="edge-band" x={x(g.accepted_edge.least)} width={Math.max(2, (g.accepted_edge.most - g.accepted_edge.least) * scale)}
                y={axis - (g.die_opening_mm_max + die_height_mm) * scale} height={2 * (g.die_opening_mm_max + die_height_mm) * scale} />
            )}
            {g.planned_edge_mm !== null && die(g.planned_edge_mm, g.die_opening_mm, "planned", g.proven_edge_mm === null ? t("operator.drawn_planned") : "")}
            {g.proven_edge_mm !== null && die(g.proven_edge_mm, g.die_opening_mm, draft?.input === "position" ? (draft.outside ? "proven wrong" : "proven typed") : "proven", draft?.input === "position" ? "" : t("operator.drawn_measured"))}
            {g.sensed_edge_mm !== null && (
              <path class="sensed" d={`M${x(g.sensed_edge_mm)} ${axis - g.die_opening_mm * scale - 2}l-6 -11h12z`}><title>{t("operator.drawn_sensor")}</title></path>
            )}
            {g.boundary_mark_mm !== null && (
              <g class="mark boundary">
                <line x1={x(g.boundary_mark_mm)} x2={x(g.boundary_mark_mm)} y1={axis - half_shank - 4} y2={axis + half_shank + 4} />
                <text x={x(g.boundary_mark_mm)} y={height - 1.5 * line_px + 5} text-anchor={text_at(x(g.boundary_mark_mm))}>{t("operator.drawn_boundary")}</text>
                <line class="leader" x1={x(g.boundary_mark_mm)} x2={x(g.boundary_mark_mm)} y1={axis + half_shank + 4} y2={height - 2.1 * line_px} />
              </g>
            )}
            {g.depth_mark_mm !== null && (
              <g class="mark depth">
                <line x1={x(g.depth_mark_mm)} x2={x(g.depth_mark_mm)} y1={axis - half_rope - 4} y2={axis + half_rope + 4} />
                <line class="leader" x1={x(g.depth_mark_mm)} x2={x(g.depth_mark_mm)} y1={axis + half_rope + 4} y2={height - 2.1 * line_px} />
                <text x={x(g.depth_mark_mm)} y={height - 1.5 * line_px + 5} text-anchor={text_at(x(g.depth_mark_mm))}>{t("operator.drawn_depth")}</text>
              </g>
            )}
            <text x={x(0)} y={dies_shown ? 14 : axis - half_shank - 8} text-anchor="middle">{t("operator.drawn_solid")}</text>
            <text x={mouth} y={dies_shown ? 14 : axis - half_shank - 8} text-anchor={text_at(mouth)}>{g.mouth_has_moved ? t("operator.drawn_mouth_before") : t("operator.drawn_mouth")}</text>
            {dies_shown && <path class="leader" d={`M${x(0)} 18V${axis - half_shank}M${mouth} 18V${axis - half_shank}`} />}
            {asked !== null && (
              <Asked asked={asked} x={x} axis={axis} y={axis + (dies_shown ? (g.die_opening_mm_max + die_height_mm) * scale : half_shank) + dimension_px - 10} width={width}
                scale={scale} wrong={draft?.outside === true}
                text={draft === null ? t("operator.asked") : fitting.next.unit === "mm" ? length(draft.value, unit, kind_of(draft.input).decimals_mm) : `${draft.value} ${fitting.next.unit}`} />
            )}
            <g class="scale-bar">
              <path d={`M${left + 4} ${height - 10}v6h${bar_mm * scale}v-6`} />
              <text x={left + 10 + bar_mm * scale} y={height - 3}>{unit === "in" ? "1/2 in" : "10 mm"}</text>
            </g>
          </svg>
        )}
      </div>
      <figcaption>
        {g.planned_edge_mm === null ? t("operator.to_scale") : (
          <>{t("operator.edge_planned")} <b>{length(g.planned_edge_mm, unit)}</b>
            {g.proven_edge_mm !== null && <>, {t("operator.edge_measured")} <b>{length(g.proven_edge_mm, unit)}</b></>}
            {g.sensed_edge_mm !== null && <>, {t("operator.edge_sensor")} <b>{length(g.sensed_edge_mm, unit)}</b></>}</>
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

/** The dimension that is asked for, with what is being typed: blue while it may be right, yellow with its own sign once it
 *  lies outside the limits. */
function Asked(props: { asked: Dimension; x: (mm: number) => number; axis: number; y: number; width: number; scale: number; wrong: boolean; text: string }) {
  const { asked, x, axis, y, width, wrong, text } = props;
  const pill = text.length * 9.2 + (wrong ? 34 : 14);
  const across = asked.way === "across";
  const from = across ? x(asked.at_mm) : Math.min(x(asked.from_mm), x(asked.to_mm));
  const to = across ? from : Math.max(x(asked.from_mm), x(asked.to_mm));
  const half = across ? asked.half_mm * props.scale : 0;
  const room = to - from > pill + 36;
  const beside = to + 16 + pill < width ? to + 16 + pill / 2 : from - 16 - pill / 2;
  const middle = Math.min(Math.max(room || across ? (from + to) / 2 : beside, pill / 2 + 2), width - pill / 2 - 2);
  const head = (at: number, toward: number) => `M${at + 9 * toward} ${y - 5}L${at} ${y}l${9 * toward} 5`;
  return (
    <g class={wrong ? "asked wrong" : "asked"} data-asked={wrong ? "wrong" : "asked"}>
      {across ? (
        <path d={`M${from} ${axis - half - 16}V${axis - half}m-5 -9l5 9l5 -9M${from} ${y}V${axis + half}m-5 9l5 -9l5 9`} />
      ) : (
        <>
          <path class="asked-end" d={`M${from} ${axis}V${y + 6}M${to} ${axis}V${y + 6}`} />
          <path d={to - from > 24 ? `M${from} ${y}H${to}${head(from, 1)}${head(to, -1)}` : `M${from - 16} ${y}H${from}M${to} ${y}H${to + 16}${head(from, -1)}${head(to, 1)}`} />
        </>
      )}
      <rect x={middle - pill / 2} y={y - 11} width={pill} height={22} rx={4} />
      {wrong && <path class="asked-sign" d={`M${middle - pill / 2 + 15} ${y - 7}l8 14h-16z`} />}
      <text x={middle + (wrong ? 10 : 0)} y={y + 5} text-anchor="middle">{text}</text>
    </g>
  );
}

function description(fitting: Fitting, asked: string, wrong: boolean): string {
  const { evidence } = fitting;
  const parts = [t("operator.drawing_section")];
  parts.push(evidence.insertion_mm !== undefined ? t("operator.drawing_inserted") : t("operator.drawing_not_inserted"));
  if (evidence.boundary_mark_mm !== undefined) parts.push(t("operator.drawing_boundary"));
  if (evidence.depth_mark_mm !== undefined) parts.push(t("operator.drawing_depth"));
  if (asked !== "") parts.push(wrong ? t("operator.drawing_wrong", { what: asked }) : t("operator.drawing_asked", { what: asked }));
  return `${parts.join(", ")}.`;
}
