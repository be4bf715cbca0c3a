/** What a finding rests on, as it is written on the sheet: the hub's names carry their units at the end. */

import type { Finding } from "../api/contract";
import { dateTime } from "../format";

const UNITS: Record<string, string> = {
  a: "A",
  v: "V",
  c: "°C",
  s: "s",
  ms: "ms",
  hz: "Hz",
  ppm: "ppm",
  dbm: "dBm",
  mib: "MiB",
  gib: "GiB",
};

export interface Figure {
  name: string;
  value: string;
}

/** What was measured, in the hub's order; what was not is left out. */
export function figuresOf({ evidence }: Pick<Finding, "evidence">): Figure[] {
  return Object.entries(evidence).flatMap(([key, value]) => (value === null ? [] : [figureOf(key, value)]));
}

function figureOf(key: string, value: string | number): Figure {
  const words = key.split("_");
  const last = words.at(-1)!;
  const named = (count: number): string => words.slice(0, -count).join(" ") || words.join(" ");
  if (typeof value === "string") return { name: words.join(" "), value };
  if (key.endsWith("_at_ms")) return { name: named(2), value: dateTime(value) };
  if (last === "share") return { name: named(1), value: `${short(value * 100)} %` };
  if (words.length > 1 && last in UNITS) return { name: named(1), value: `${short(value)} ${UNITS[last]}` };
  return { name: words.join(" "), value: short(value) };
}

function short(value: number): string {
  return String(+value.toFixed(Math.abs(value) >= 100 ? 0 : Math.abs(value) >= 10 ? 1 : 2)).replace("-", "−");
}
