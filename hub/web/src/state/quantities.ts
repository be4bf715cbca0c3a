/** Figures of history: what they are called on the sheet, how they are written, and what is always in view of them. */

import type { QuantitySeries } from "../api/contract";
import { amps, celsius, hertz, milliseconds } from "../format";

type Quantity = QuantitySeries["quantity"];

interface Manner {
  name: string;
  write: (value: number) => string;
  /** What the scale always shows. */
  floor: number | null;
  ceiling: number | null;
}

const share = (value: number): string => `${+(value * 100).toFixed(value > 0.995 && value < 1 ? 1 : 0)} %`;
const from0 = { floor: 0, ceiling: null };
const all = { write: share, floor: 0, ceiling: 1 };

/** In the order of their charts. */
export const QUANTITIES: Readonly<Record<Quantity, Manner>> = {
  amps: { name: "Amps", write: amps, ...from0 },
  budget: { name: "Budget", write: amps, ...from0 },
  "highest-amps": { name: "Highest frame", write: amps, ...from0 },
  "limiter-scale": { name: "Limiter lets through", ...all },
  "nodes-online": { name: "Nodes heard", write: (value) => String(+value.toFixed(1)), ...from0 },
  heard: { name: "Messages heard", ...all },
  "frame-rate": { name: "Frames", write: hertz, ...from0 },
  "late-frames": { name: "Late frames a second", write: (value) => String(+value.toFixed(2)), floor: 0, ceiling: 1 },
  "render-time": { name: "Time for a frame", write: milliseconds, ...from0 },
  temperature: { name: "Heat", write: celsius, floor: null, ceiling: null },
  "clock-dispersion": { name: "Clock's likely error", write: milliseconds, ...from0 },
  "memory-free": { name: "Memory free", ...all },
  "disk-free": { name: "Disk free", ...all },
  signal: { name: "Signal", write: (value) => `${value.toFixed(0).replace("-", "−")} dBm`, floor: null, ceiling: null },
};

const ORDER = Object.keys(QUANTITIES) as Quantity[];

export function inOrder(series: readonly QuantitySeries[]): QuantitySeries[] {
  return series.toSorted((a, b) => ORDER.indexOf(a.quantity) - ORDER.indexOf(b.quantity));
}

/** What a figure was at a point, with its lowest and highest where they differ. */
export function readingOf({ quantity, low, mean, high }: QuantitySeries, point: number): string {
  const { write } = QUANTITIES[quantity];
  const [least, middle, most] = [low[point] ?? null, mean[point] ?? null, high[point] ?? null];
  if (least === null || middle === null || most === null) return "not told";
  return write(least) === write(most) ? write(middle) : `${write(middle)}, ${write(least)} to ${write(most)}`;
}
