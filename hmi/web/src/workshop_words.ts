// Numbers and times as the workshop's screens show them.
import type { ForceClass } from "./workshop_api";
import { t } from "./messages";
import { fixed } from "./units";

export const kn = (value: number | null, decimals = 1) => (value === null ? t("common.not_known") : `${fixed(value, decimals)} kN`);

/** "+0.42 %": the sign is part of an error. */
export function percent(value: number | null, decimals = 2): string {
  if (value === null) return "–";
  const text = fixed(value, decimals);
  return `${value > 0 && Number(value.toFixed(decimals)) !== 0 ? "+" : ""}${text} %`;
}

/** A magnitude in percent: no sign. */
export const share = (value: number, decimals = 1) => `${fixed(value * 100, decimals)} %`;

export function class_words(of: ForceClass): string {
  return of === "none" ? t("technician.class_none") : t("technician.class_is", { name: of });
}

/** "2026-11-26 02:14" in this device's time zone; the text as given when it is no time. */
export function minute(utc: string | null): string {
  const time = new Date(utc ?? "");
  if (Number.isNaN(time.getTime())) return utc ?? "";
  const two = (value: number) => String(value).padStart(2, "0");
  return `${time.getFullYear()}-${two(time.getMonth() + 1)}-${two(time.getDate())} ${two(time.getHours())}:${two(time.getMinutes())}`;
}
