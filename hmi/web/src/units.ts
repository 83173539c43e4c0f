// Lengths are shown in the unit this device has chosen; every reading is sent as text with its unit, so the station
// and not the page converts. One inch is 25.4 mm exactly (NIST SP 811, Appendix B.9).
import { useEffect, useState } from "preact/hooks";
import type { Band } from "./api";
import { t } from "./messages";
import { recall, remember } from "./memory";

export type LengthUnit = "mm" | "in";
const mm_per_inch = 25.4;

let chosen: LengthUnit = recall("length_unit") === "in" ? "in" : "mm";
const watchers = new Set<(unit: LengthUnit) => void>();

export function choose_length_unit(unit: LengthUnit) {
  chosen = unit;
  remember("length_unit", unit);
  for (const watcher of watchers) watcher(unit);
}

export function length_unit_now(): LengthUnit {
  return chosen;
}

export function useLengthUnit(): LengthUnit {
  const [unit, setUnit] = useState(chosen);
  useEffect(() => {
    watchers.add(setUnit);
    return () => { watchers.delete(setUnit); };
  }, []);
  return unit;
}

/** A number for people: true minus sign, no minus before zero. */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−");
}

/** "7.95 mm" or "0.3130 in". */
export function length(value_mm: number, unit: LengthUnit, decimals_mm = 2): string {
  return unit === "in" ? `${fixed(value_mm / mm_per_inch, decimals_mm + 2)} in` : `${fixed(value_mm, decimals_mm)} mm`;
}

/** "7.85 to 8.00 mm" */
export function length_band(band: Band, unit: LengthUnit, decimals_mm = 2): string {
  const least = length(band.least, unit, decimals_mm).replace(/ (mm|in)$/, "");
  return t("common.band", { least, most: length(band.most, unit, decimals_mm) });
}

/** The unit a reading of this station unit ("mm", "deg") is written in on this device. */
export function written_unit(station_unit: string, unit: LengthUnit): string {
  return station_unit === "mm" ? unit : station_unit;
}

/** A typed reading in the station's unit, or null when it carries a unit of its own that this page does not convert. */
export function in_station_unit(text: string, station_unit: string, unit: LengthUnit): number | null {
  const match = /^\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*([a-zA-Z]*)\s*$/.exec(text);
  if (match === null) return null;
  const value = Number(match[1]);
  const written = match[2] === "" || match[2] === undefined ? written_unit(station_unit, unit) : match[2];
  if (written === station_unit) return value;
  if (station_unit === "mm" && written === "in") return value * mm_per_inch;
  return null;
}

/** What is sent: the text as typed, with the device's unit added where none was typed. */
export function with_unit(text: string, station_unit: string, unit: LengthUnit): string {
  const trimmed = text.trim().replace(",", ".");
  return /[a-zA-Z]/.test(trimmed) ? trimmed : `${trimmed} ${written_unit(station_unit, unit)}`;
}

/** The gap between the die halves as people read it; null is beyond the 65.535 mm that the press map can say. */
export function gap_text(gap_mm: number | null, unit: LengthUnit): string {
  return gap_mm === null ? `> ${length(65.5, unit, 1)}` : length(gap_mm, unit, 2);
}

export function force_text(force_kn: number | null): string {
  return force_kn === null ? t("common.not_known") : `${fixed(force_kn, 0)} kN`;
}
