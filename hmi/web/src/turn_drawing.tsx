// The shank from its end as it lies between the dies: the flats of the pass before, where they stand now at the true
// angle, and the angle that is wanted.
import { useRef } from "preact/hooks";
import type { Fitting, Press } from "./api";
import { t } from "./messages";
import type { Draft } from "./readings";
import { Sign } from "./signs";
import { fixed } from "./units";
import { useSize } from "./use_size";

const radians = (deg: number) => ((deg - 90) * Math.PI) / 180; // 0 deg up, clockwise as seen

function point(radius: number, deg: number): string {
  return `${(radius * Math.cos(radians(deg))).toFixed(2)} ${(radius * Math.sin(radians(deg))).toFixed(2)}`;
}

function arc(radius: number, from_deg: number, to_deg: number): string {
  const large = Math.abs(to_deg - from_deg) > 180 ? 1 : 0;
  return `M${point(radius, from_deg)}A${radius} ${radius} 0 ${large} ${to_deg >= from_deg ? 1 : 0} ${point(radius, to_deg)}`;
}

/** Corners of a hexagon whose flats lie at 0, 60, ... deg, at half the across flats from the middle. */
function hexagon(half_flats: number): string {
  const corner = half_flats / Math.cos(Math.PI / 6);
  return `M${[30, 90, 150, 210, 270, 330].map((deg) => point(corner, deg)).join("L")}Z`;
}

export function TurnDrawing({ fitting, press, live, draft }: { fitting: Fitting; press: Press; live: boolean; draft: Draft | null }) {
  const box = useRef<HTMLDivElement>(null);
  const { width } = useSize(box);
  const { next, drawing } = fitting;
  const sensed = press.angle_encoder_fitted && live ? press.angle_deg : null;
  const angle = draft?.value ?? sensed;
  const wrong = angle !== null && (angle < next.least || angle > next.most);
  const wanted_middle = (next.least + next.most) / 2;
  const half = 46;                 // px from the middle to a flat
  const block = half + 32;          // half a die, wide and high
  const ring = block + 14;
  const hexagonal = drawing.die_shape === "hexagon";
  const groove = hexagonal ? hexagon(half) : `M${-half} 0a${half} ${half} 0 1 0 ${2 * half} 0a${half} ${half} 0 1 0 ${-2 * half} 0Z`;
  const height = 2 * ring + 28;
  const wanted_text = t("operator.turn_wanted", { least: fixed(next.least, 1), most: fixed(next.most, 1) });
  const now_text = angle === null ? t("operator.turn_unknown") : t("operator.turn_now", { angle: fixed(angle, 1) });
  return (
    <figure class="drawing turn-drawing" data-angle={angle ?? undefined} data-wrong={wrong || undefined}>
      <div ref={box}>
        {width > 0 && (
          <svg width={width} height={height} viewBox={`${-width / 2} ${-height / 2} ${width} ${height}`} role="img"
            aria-label={`${t("operator.end_view")}. ${now_text}, ${wanted_text}${wrong ? `, ${t("operator.turn_wrong")}` : ""}.`}>
            {/* the dies, opened a little, with the groove they leave */}
            <g class="die-end">
              <path d={`M${-block} -8V${-block + 8}H${block}V-8H${half * 1.16}L${half * 0.58} ${-half - 8}H${-half * 0.58}L${-half * 1.16} -8Z`} />
              <path d={`M${-block} 8V${block - 8}H${block}V8H${half * 1.16}L${half * 0.58} ${half + 8}H${-half * 0.58}L${-half * 1.16} 8Z`} />
            </g>
            <g transform={`rotate(${angle ?? 0})`}>
              <path class="metal" d={groove} />
              <circle class="rope" r={half * 0.52} />
              <path class="turn-bar" d={`M${-half * 0.5} ${-half + 3}H${half * 0.5}`} />
              <path class="turn-hand" d={`M0 ${-half * 0.3}V${-ring + 10}`} />
            </g>
            {/* where the bar was, and where it must go */}
            <path class="turn-from" d={`M0 ${-ring + 2}V${-ring - 8}`} />
            <path class="turn-band" d={arc(ring, next.least, Math.max(next.most, next.least + 1))} />
            {angle === null && wanted_middle > 1 && (
              <>
                <path class="turn-way" d={arc(ring, 6, next.least - 4)} />
                <path class="turn-way" transform={`rotate(${next.least - 4})`} d={`M-8 ${-ring - 7}L0 ${-ring}L-8 ${-ring + 7}`} />
              </>
            )}
          </svg>
        )}
      </div>
      <figcaption>
        <span class={wrong ? "pill wrong" : "pill"}>{wrong && <Sign meaning="abnormal" size={18} />}{now_text}{wrong && `, ${t("operator.turn_wrong")}`}</span>
        <span class="pill wanted">{wanted_text}</span>
        <span>{t("operator.turn_caption")}</span>
      </figcaption>
    </figure>
  );
}
