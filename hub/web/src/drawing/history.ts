/** Geometry of a figure over hours or years: its lowest and highest as a band, its mean as a line, gaps where nothing was told. */

import type { Frame } from "./course";
import { graduation } from "./graduation";

/** A figure at each point; null where nothing was told. */
export interface Band {
  low: readonly (number | null)[];
  mean: readonly (number | null)[];
  high: readonly (number | null)[];
}

/** Neighbouring points without a gap: the first, and one past the last. */
export interface Stretch {
  from: number;
  to: number;
}

const MARKS_UP = 3;

export class HistoryScale {
  readonly marks: readonly number[];
  private readonly bottom: number;
  private readonly top: number;

  /** `floor` and `ceiling` are always in view, where they are not null. */
  constructor(
    readonly frame: Frame,
    readonly fromMs: number,
    readonly untilMs: number,
    band: Band,
    floor: number | null,
    ceiling: number | null,
  ) {
    const values = [...band.low, ...band.high].filter((each) => each !== null);
    if (floor !== null) values.push(floor);
    if (ceiling !== null) values.push(ceiling);
    const lowest = values.reduce((least, each) => Math.min(least, each), Infinity);
    const highest = values.reduce((most, each) => Math.max(most, each), -Infinity);
    // A figure that never changes lies in the middle of its own size, not on an edge.
    const half = lowest === highest ? Math.abs(lowest) / 10 || 0.5 : 0;
    [this.bottom, this.top] = Number.isFinite(lowest) ? [lowest - half, highest + half] : [0, 1];
    this.marks = graduation(this.bottom, this.top, MARKS_UP);
  }

  x(ms: number): number {
    const { left, right } = this.frame;
    return left + ((ms - this.fromMs) / (this.untilMs - this.fromMs)) * (right - left);
  }

  y(value: number): number {
    const { top, bottom } = this.frame;
    return bottom - ((value - this.bottom) / (this.top - this.bottom)) * (bottom - top);
  }
}

export function stretches(values: readonly (number | null)[], told = true): Stretch[] {
  const found: Stretch[] = [];
  values.forEach((value, i) => {
    if ((value !== null) !== told) return;
    const last = found.at(-1);
    if (last?.to === i) last.to = i + 1;
    else found.push({ from: i, to: i + 1 });
  });
  return found;
}

/** Areas from lowest to highest, a point as wide as its period. */
export function bandPath(at: readonly number[], periodMs: number, { low, high }: Band, scale: HistoryScale): string {
  return stretches(low)
    .map(({ from, to }) => {
      const over = places(at, periodMs, high, from, to, scale);
      const under = places(at, periodMs, low, from, to, scale).reverse();
      return `M${[...over, ...under].join("L")}z`;
    })
    .join("");
}

export function meanPath(at: readonly number[], periodMs: number, { mean }: Band, scale: HistoryScale): string {
  return stretches(mean)
    .map(({ from, to }) => `M${places(at, periodMs, mean, from, to, scale).join("L")}`)
    .join("");
}

/** Each value in the middle of its period; a stretch reaches to the ends of its first and last. */
function places(at: readonly number[], periodMs: number, values: readonly (number | null)[], from: number, to: number, scale: HistoryScale): string[] {
  const { left, right } = scale.frame;
  const place = (ms: number, i: number): string => `${Math.min(right, Math.max(left, scale.x(ms))).toFixed(1)} ${scale.y(values[i]!).toFixed(1)}`;
  const within = Array.from({ length: to - from }, (_, i) => place(at[from + i]! + periodMs / 2, from + i));
  return [place(at[from]!, from), ...within, place(at[to - 1]! + periodMs, to - 1)];
}

/** The point in whose period the time lies; the nearest end outside of all. */
export function pointAt(at: readonly number[], ms: number): number {
  let [low, high] = [0, at.length - 1];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (at[middle]! <= ms) low = middle;
    else high = middle - 1;
  }
  return low;
}
