/** Geometry of the drawing of volts along a run: pixel index across, volts up; CSS pixels, y down. */

import type { RunAudit } from "../api/contract";

/** Volts by pixel; null where no feed reaches. */
export type Volts = readonly (number | null)[];

export interface Frame {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

/** Share of the volts' range that stays free above and below. */
const MARGIN = 0.08;
const NARROWEST_RANGE_V = 0.1;

export class VoltsScale {
  constructor(
    readonly frame: Frame,
    readonly pixels: number,
    readonly lowV: number,
    readonly highV: number,
  ) {}

  /** The middle of a pixel; half a pixel less is where a cut before it lies. */
  x(pixel: number): number {
    return this.frame.left + ((pixel + 0.5) / this.pixels) * (this.frame.right - this.frame.left);
  }

  /** Volts below the scale's foot lie on it. */
  y(volts: number): number {
    const share = (Math.max(volts, this.lowV) - this.lowV) / (this.highV - this.lowV);
    return this.frame.bottom - share * (this.frame.bottom - this.frame.top);
  }

  /** The pixel that lies at a place across, the nearest where none does. */
  pixelAt(x: number): number {
    const share = (x - this.frame.left) / (this.frame.right - this.frame.left);
    return Math.min(this.pixels - 1, Math.max(0, Math.floor(share * this.pixels)));
  }
}

/** From a little below the lowest working volts (or the lowest there are) to a little above the supply's. */
export function scaleFor(frame: Frame, run: RunAudit, supplyV: number, volts: Volts): VoltsScale {
  let low = run.minimum_v;
  let high = supplyV;
  for (const value of volts) {
    if (value === null) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  const margin = MARGIN * Math.max(high - low, NARROWEST_RANGE_V);
  return new VoltsScale(frame, run.pixels, Math.max(0, low - margin), high + margin);
}

/** First and last pixel of each stretch that feeds reach and no cut parts. */
export function stretchesOf(volts: Volts, cutBefore: readonly number[]): [number, number][] {
  const cuts = new Set(cutBefore);
  const found: [number, number][] = [];
  volts.forEach((value, pixel) => {
    if (value === null) return;
    const last = found.at(-1);
    if (last && last[1] === pixel - 1 && !cuts.has(pixel)) last[1] = pixel;
    else found.push([pixel, pixel]);
  });
  return found;
}

/** The line of volts as SVG path data, a piece for each stretch, half a pixel long at least. */
export function voltsPath(volts: Volts, stretches: readonly (readonly [number, number])[], scale: VoltsScale): string {
  return stretches
    .map(([first, last]) => {
      const points = placesOf(volts, first, last, scale);
      const [from, to] = [points[0]!, points.at(-1)!];
      const half = 0.45 * (scale.x(1) - scale.x(0));
      return `M${place([from[0] - half, from[1]])}${points.map((point) => `L${place(point)}`).join("")}L${place([to[0] + half, to[1]])}`;
    })
    .join("");
}

/** The areas between the lowest working volts and the line where it lies below them. */
export function shortfallPath(volts: Volts, stretches: readonly (readonly [number, number])[], scale: VoltsScale, minimumV: number): string {
  const floor = scale.y(minimumV).toFixed(1);
  const half = 0.5 * (scale.x(1) - scale.x(0));
  let path = "";
  for (const [first, last] of stretches) {
    for (let pixel = first; pixel <= last; pixel++) {
      if (volts[pixel]! >= minimumV) continue;
      let end = pixel;
      while (end < last && volts[end + 1]! < minimumV) end++;
      const points = placesOf(volts, pixel, end, scale);
      path += `M${(points[0]![0] - half).toFixed(1)} ${floor}V${points[0]![1].toFixed(1)}`;
      path += `${points.map((point) => `L${place(point)}`).join("")}H${(points.at(-1)![0] + half).toFixed(1)}V${floor}z`;
      pixel = end;
    }
  }
  return path;
}

const place = ([x, y]: readonly [number, number]): string => `${x.toFixed(1)} ${y.toFixed(1)}`;

/** Points of a stretch: the lowest pixel of each CSS pixel across, so that a long run costs no more than its width. */
function placesOf(volts: Volts, first: number, last: number, scale: VoltsScale): [number, number][] {
  const places: [number, number][] = [];
  let column = NaN;
  for (let pixel = first; pixel <= last; pixel++) {
    const point: [number, number] = [scale.x(pixel), scale.y(volts[pixel]!)];
    if (Math.floor(point[0]) !== column) places.push(point);
    else if (point[1] > places.at(-1)![1]) places[places.length - 1] = point;
    column = Math.floor(point[0]);
  }
  return places;
}
