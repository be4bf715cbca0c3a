/** Shapes that the drawing reads out of the pixels' positions: what is an opening, a panel, a roof line. Metres, y up. */

import type { Elevation, ElevationSpan, Point } from "../api/contract";

export interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

export function boxOf(points: Iterable<Point>): Box | null {
  const box = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
  for (const [x, y] of points) {
    if (x < box.x0) box.x0 = x;
    if (x > box.x1) box.x1 = x;
    if (y < box.y0) box.y0 = y;
    if (y > box.y1) box.y1 = y;
  }
  return box.x0 <= box.x1 ? box : null;
}

export function allSpans(elevation: Elevation): ElevationSpan[] {
  return elevation.zones.flatMap((zone) => zone.spans);
}

/** Where each pixel of a frame lies: x, y in turn, by index in the frame. */
export function pixelPlaces(elevation: Elevation): Float32Array {
  const places = new Float32Array(elevation.pixels * 2).fill(NaN);
  for (const span of allSpans(elevation)) {
    span.points.forEach(([x, y], i) => {
      const at = (span.offset + i) * 2;
      if (at + 1 < places.length) {
        places[at] = x;
        places[at + 1] = y;
      }
    });
  }
  return places;
}

export type Shape = "opening" | "round" | "panel" | "line";

const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** A run that comes back to itself frames a panel (or a dial); one that stands on two feet frames an opening. */
export function shapeOf(points: readonly Point[]): Shape {
  const first = points[0];
  const last = points.at(-1);
  if (!first || !last || points.length < 8) return "line";
  let around = 0;
  for (let i = 1; i < points.length; i++) around += distance(points[i - 1]!, points[i]!);
  const gap = distance(first, last);
  if (gap < (3 * around) / points.length || gap < around * 0.03) return isRound(points) ? "round" : "panel";
  const feet = Math.max(first[1], last[1]);
  const crown = Math.max(...points.map(([, y]) => y));
  const level = Math.abs(first[1] - last[1]) < around * 0.05;
  return level && crown - feet > gap * 0.3 && gap > around * 0.08 ? "opening" : "line";
}

function isRound(points: readonly Point[]): boolean {
  const [x, y] = centreOf(points);
  const radii = points.map((point) => distance(point, [x, y]));
  return Math.max(...radii) < Math.min(...radii) * 1.12;
}

export function centreOf(points: readonly Point[]): Point {
  const box = boxOf(points)!;
  return [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2];
}

export interface Wall {
  /** The roof line from left to right; the wall stands on `base`. */
  top: Point[];
  base: number;
}

/** The lines of a zone: spans whose ends meet are one line, whichever way each of them runs. */
export function linesOf(spans: readonly ElevationSpan[]): Point[][] {
  const lines: Point[][] = [];
  for (const span of spans) {
    const points = span.points;
    const line = lines.at(-1);
    if (!line || line.length < 2 || points.length < 2) {
      lines.push(points);
      continue;
    }
    const reach = 1.6 * Math.max(distance(line[0]!, line[1]!), distance(points[0]!, points[1]!));
    const [first, last] = [points[0]!, points.at(-1)!];
    if (distance(line.at(-1)!, first) <= reach) lines[lines.length - 1] = [...line, ...points];
    else if (distance(line.at(-1)!, last) <= reach) lines[lines.length - 1] = [...line, ...points.toReversed()];
    else if (distance(line[0]!, first) <= reach) lines[lines.length - 1] = [...line.toReversed(), ...points];
    else lines.push(points);
  }
  return lines;
}

const COLUMNS = 320;

/** The building's outline, read from its highest pixels with a coping of `margin` metres; gaps part it into walls. */
export function walls(places: Float32Array, base: number, margin: number): Wall[] {
  let left = Infinity;
  let right = -Infinity;
  for (let i = 0; i < places.length; i += 2) {
    if (!(places[i + 1]! >= base)) continue;
    left = Math.min(left, places[i]!);
    right = Math.max(right, places[i]!);
  }
  if (!(left <= right)) return [];
  left -= margin;
  right += margin;
  const step = (right - left) / COLUMNS;
  const tops = new Float64Array(COLUMNS + 1).fill(-Infinity);
  for (let i = 0; i < places.length; i += 2) {
    const y = places[i + 1]!;
    if (!(y >= base)) continue;
    const from = Math.max(0, Math.ceil((places[i]! - margin - left) / step - 1e-6));
    const to = Math.min(COLUMNS, Math.floor((places[i]! + margin - left) / step + 1e-6));
    for (let column = from; column <= to; column++) tops[column] = Math.max(tops[column]!, y + margin);
  }
  return partWalls(tops, left, step, base);
}

function partWalls(tops: Float64Array, left: number, step: number, base: number): Wall[] {
  const found: Wall[] = [];
  let top: Point[] = [];
  let emptySince = -1;
  for (let column = 0; column <= COLUMNS; column++) {
    const y = tops[column]!;
    if (y === -Infinity) {
      if (emptySince < 0) emptySince = column;
      if (column - emptySince > COLUMNS * 0.08 && top.length) {
        found.push({ top: straightened(top, step), base });
        top = [];
      }
      continue;
    }
    emptySince = -1;
    top.push([left + column * step, y]);
  }
  if (top.length > 1) found.push({ top: straightened(top, step), base });
  return found;
}

/** Drops the points that a straight line passes within half a step of (Ramer, Douglas and Peucker). */
function straightened(line: Point[], step: number): Point[] {
  const first = line[0]!;
  const last = line.at(-1)!;
  let worst = 0;
  let at = 0;
  const length = distance(first, last) || 1;
  line.forEach((point, i) => {
    const off = Math.abs(
      (last[0] - first[0]) * (first[1] - point[1]) - (first[0] - point[0]) * (last[1] - first[1]),
    );
    if (off / length > worst) [worst, at] = [off / length, i];
  });
  if (worst <= step * 0.6 || line.length < 3) return [first, last];
  return [...straightened(line.slice(0, at + 1), step).slice(0, -1), ...straightened(line.slice(at), step)];
}
