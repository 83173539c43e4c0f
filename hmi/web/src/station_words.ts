// The station speaks English. Where this device has another language, what it says is told by its stable codes and its
// numbers; what this page does not know stays in the station's words, never left out.
import type { Finding, Fitting, Press } from "./api";
import { unit_of_finding, type FindingUnit } from "./finding_units";
import { words } from "./kinds";
import { language_now } from "./messages";
import * as german from "./messages/de/station";
import { fixed, length, length_unit_now } from "./units";

const fill = (text: string, values: Readonly<Record<string, string | number>>) =>
  text.replace(/\{(\w+)\}/g, (whole, name: string) => String(values[name] ?? whole));

/** A finding's number with its unit. */
export function finding_number(value: number, unit: FindingUnit): string {
  switch (unit) {
    case "mm": return length(value, length_unit_now());
    case "growth": return `${fixed(value * 100, 1)} %`;
    case "ms": return `${fixed(value, 0)} ms`;
    case "count": return fixed(value, 0);
    default: return `${fixed(value, 1)} ${unit}`;
  }
}

export function finding_words(finding: Finding): { what: string; what_to_do: string } {
  const known = language_now() === "de" ? german.findings[finding.code] : undefined;
  if (known === undefined) return finding;
  const [what, what_to_do] = known;
  const unit = unit_of_finding(finding.code);
  const { found, least, most } = finding;
  if (what.endsWith(".") || found === null) return { what: what.endsWith(".") ? what : `${what}.`, what_to_do };
  const show = (value: number) => finding_number(value, unit ?? "count");
  const values = { what, found: show(found), least: show(least ?? 0), most: show(most ?? 0) };
  const shape = least === null || most === null || (least === 0 && most === 0) ? german.found_only
    : most < least ? german.found_at_least
    : least === 0 ? german.found_at_most
    : german.found_of_band;
  return { what: fill(shape, values), what_to_do };
}

export function next_words(fitting: Fitting, press: Press): { title: string; detail: string } {
  const { next } = fitting;
  if (language_now() !== "de") return next;
  if (next.code === "done") {
    const [title, detail] = german.done[fitting.stage === "scrapped" ? "scrapped" : "released"];
    return { title, detail };
  }
  const known = german.next[next.code];
  if (known === undefined) return next;
  const values = {
    readings: next.readings, bite: fitting.bite + 1, bites: fitting.bites_in_pass, pass: fitting.pass, fault: fault_words(press),
    depth: length(fitting.evidence.bore_depth_mm ?? 0, length_unit_now(), 1), edge: length(fitting.planned_edge_mm ?? 0, length_unit_now()),
  };
  return { title: fill(known[0], values), detail: fill(known[1], values) };
}

export function gauge_words(kind: string): string {
  return (language_now() === "de" ? german.gauges[kind] : undefined) ?? words(kind);
}

export function caution_words(caution: string): string {
  return (language_now() === "de" ? german.cautions[caution] : undefined) ?? caution;
}

export function fault_words(press: Press): string {
  return (language_now() === "de" ? german.faults[press.fault_code] : undefined) ?? words(press.fault);
}
