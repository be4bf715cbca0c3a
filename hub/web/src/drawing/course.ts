/** Geometry of the drawing of a supply's amps over a scene's period: show time across, amps up; CSS pixels, y down. */

import type { PreviewSupply } from "../api/contract";

export interface Frame {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

/** Free above the highest line, so that it is seen as one. */
const HEADROOM = 1.12;
/** Parts of a scene that stands still, which has one figure only. */
const STILL_S = 1;

export class CourseScale {
  readonly lengthS: number;
  readonly highestA: number;

  constructor(
    readonly frame: Frame,
    supply: PreviewSupply,
    windowS: number,
  ) {
    this.lengthS = windowS || STILL_S;
    this.highestA = Math.max(supply.budget_a, supply.highest_a, Number.EPSILON) * HEADROOM;
  }

  x(seconds: number): number {
    const { left, right } = this.frame;
    return left + Math.min(1, Math.max(0, seconds / this.lengthS)) * (right - left);
  }

  y(amps: number): number {
    const { top, bottom } = this.frame;
    return bottom - (amps / this.highestA) * (bottom - top);
  }
}

/** SVG path data of a figure a step: level over its step, so that no instant is promised between two. */
export function coursePath(amps: readonly number[], stepS: number, scale: CourseScale): string {
  const wide = stepS || scale.lengthS;
  return amps
    .map((each, i) => `${i ? "L" : "M"}${place(scale.x(i * wide), scale.y(each))}H${scale.x((i + 1) * wide).toFixed(1)}`)
    .join("");
}

/** The stretches in which the limiter acts, as areas between the budget's line and the frame's head. */
export function limitingPath(supply: PreviewSupply, scale: CourseScale): string {
  const { top, bottom } = scale.frame;
  return supply.limiting
    .map(({ start_s, end_s }) => {
      const [from, to] = start_s === end_s ? [0, scale.lengthS] : [start_s, end_s];
      // A short one is still seen.
      const [left, right] = [scale.x(from), Math.max(scale.x(to), scale.x(from) + 1.5)];
      return `M${place(left, top)}H${right.toFixed(1)}V${bottom}H${left.toFixed(1)}z`;
    })
    .join("");
}

/** Supplies that the limiter holds down first, the lowest scale first of all; then by how near they come to the budget. */
export function byNeed(supplies: readonly PreviewSupply[]): PreviewSupply[] {
  const load = ({ highest_a, budget_a }: PreviewSupply): number => highest_a / Math.max(budget_a, Number.EPSILON);
  return supplies.toSorted((a, b) => a.limiter_scale - b.limiter_scale || load(b) - load(a));
}

const place = (x: number, y: number): string => `${x.toFixed(1)} ${y.toFixed(1)}`;
