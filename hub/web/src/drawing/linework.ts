/** The still part of the elevation: walls, courses, openings, runs, ground. Drawn once per size, theme and set of silent nodes. */

import type { Elevation, ElevationSpan, Point } from "../api/contract";
import { drawDimensions } from "./dimensions";
import { allSpans, linesOf, pixelPlaces, shapeOf, walls, type Wall } from "./geometry";
import type { Inks } from "./ink";
import { drawZoneNames } from "./zone_names";
import type { View } from "./view";

export type Pen = CanvasRenderingContext2D;

const GROUND_M = 0;

export function drawLinework(
  pen: Pen,
  elevation: Elevation,
  view: View,
  inks: Inks,
  silent: ReadonlySet<string>,
  lettered = true,
): void {
  pen.lineCap = "round";
  pen.lineJoin = "round";
  const grounded = view.extent.y_min_m <= GROUND_M && view.extent.y_max_m > GROUND_M;
  const base = grounded ? GROUND_M : view.extent.y_min_m;
  const coping = Math.max(5 / view.pxPerM, 0.012 * (view.extent.x_max_m - view.extent.x_min_m));
  for (const wall of walls(pixelPlaces(elevation), base, coping)) drawWall(pen, wall, view, inks);
  for (const zone of elevation.zones) {
    for (const line of linesOf(zone.spans)) drawShape(pen, line, view, inks, base);
  }
  if (grounded) drawGround(pen, view, inks);
  else drawBreak(pen, view, inks);
  if (lettered) drawDimensions(pen, elevation, view, inks, grounded);
  for (const span of allSpans(elevation)) drawRun(pen, span, view, inks, silent.has(span.node));
  if (lettered) drawZoneNames(pen, elevation, view, inks);
}

/** Small drawings take a finer pen. */
function lineWeight(view: View): number {
  return Math.min(1, Math.max(0.5, view.pxPerM / ((16 * 48) / (view.extent.x_max_m - view.extent.x_min_m))));
}

function trace(pen: Pen, points: readonly Point[], view: View): void {
  pen.beginPath();
  let lastX = Infinity;
  let lastY = Infinity;
  points.forEach(([xm, ym], i) => {
    const x = view.x(xm);
    const y = view.y(ym);
    const end = i === 0 || i === points.length - 1;
    if (!end && Math.abs(x - lastX) + Math.abs(y - lastY) < 1.5) return;
    if (i === 0) pen.moveTo(x, y);
    else pen.lineTo(x, y);
    [lastX, lastY] = [x, y];
  });
}

/** A small fixed sequence, so that the courses fall the same way at every drawing. */
function sequence(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** Half a pitch more at either end, so that the first and last lamps lie inside. */
function lengthened(points: readonly Point[]): Point[] {
  const [a, b] = [points[0], points[1]];
  const [y, z] = [points.at(-2), points.at(-1)];
  if (!a || !b || !y || !z) return [...points];
  const past = (from: Point, to: Point): Point => [to[0] + (to[0] - from[0]) / 2, to[1] + (to[1] - from[1]) / 2];
  return [past(b, a), ...points, past(y, z)];
}

function drawWall(pen: Pen, wall: Wall, view: View, inks: Inks): void {
  const first = wall.top[0]!;
  const last = wall.top.at(-1)!;
  const outline: Point[] = [[first[0], wall.base], ...wall.top, [last[0], wall.base]];
  pen.save();
  trace(pen, outline, view);
  pen.clip();
  drawCourses(pen, view.x(first[0]), view.x(last[0]), view.y(Math.max(...wall.top.map(([, y]) => y))), view.y(wall.base), inks);
  pen.restore();
  trace(pen, outline, view);
  pen.strokeStyle = inks.ink;
  pen.lineWidth = 1.6 * lineWeight(view);
  pen.stroke();
  drawOvershoots(pen, outline, view, inks);
}

/** Lines run a little past their corners, as they do under a set square. */
function drawOvershoots(pen: Pen, outline: readonly Point[], view: View, inks: Inks): void {
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.8;
  pen.beginPath();
  for (let i = 1; i < outline.length; i++) {
    const [ax, ay] = [view.x(outline[i - 1]![0]), view.y(outline[i - 1]![1])];
    const [bx, by] = [view.x(outline[i]![0]), view.y(outline[i]![1])];
    const length = Math.hypot(bx - ax, by - ay);
    if (length < 24) continue;
    const [ux, uy] = [((bx - ax) / length) * 5, ((by - ay) / length) * 5];
    if (i > 1) pen.moveTo(ax, ay), pen.lineTo(ax - ux, ay - uy);
    if (i < outline.length - 1) pen.moveTo(bx, by), pen.lineTo(bx + ux, by + uy);
  }
  pen.stroke();
}

/** Masonry courses, drawn here and there only, as a draughtsman hints at a wall. */
function drawCourses(pen: Pen, left: number, right: number, top: number, bottom: number, inks: Inks): void {
  const chance = sequence(7);
  const height = 7;
  pen.strokeStyle = inks.faint;
  pen.lineWidth = 0.7;
  pen.beginPath();
  for (let row = 0, y = bottom - height; y > top; row++, y -= height) {
    let x = left + chance() * 60;
    while (x < right) {
      const length = 14 + Math.floor(chance() * 4) * 14;
      pen.moveTo(x, y);
      pen.lineTo(Math.min(x + length, right), y);
      if (chance() < 0.6) pen.moveTo(x + (row % 2) * 7, y), pen.lineTo(x + (row % 2) * 7, y + height);
      x += length + 20 + chance() * 110;
    }
  }
  pen.stroke();
}

function drawShape(pen: Pen, line: readonly Point[], view: View, inks: Inks, base: number): void {
  const shape = shapeOf(line);
  if (shape === "line") return;
  const first = line[0]!;
  const last = line.at(-1)!;
  const near = shape === "opening" && Math.min(first[1], last[1]) - base < 0.15 * (view.extent.y_max_m - base);
  const edge: readonly Point[] = near ? [[first[0], base], ...line, [last[0], base]] : line;
  const xs = edge.map(([x]) => view.x(x));
  const ys = edge.map(([, y]) => view.y(y));
  const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  pen.save();
  trace(pen, edge, view);
  pen.closePath();
  pen.fillStyle = inks.paper;
  pen.fill();
  pen.clip();
  if (shape === "opening") drawGlazing(pen, x0, x1, y0, y1, inks);
  if (shape === "panel") drawDiagonals(pen, x0, x1, y0, y1, inks);
  pen.restore();
  if (shape === "round") drawCentreLines(pen, x0, x1, y0, y1, inks);
}

/** Glass: a tint, glazing bars, and a few slanting strokes. */
function drawGlazing(pen: Pen, x0: number, x1: number, y0: number, y1: number, inks: Inks): void {
  pen.fillStyle = inks.glass;
  pen.fillRect(x0, y0, x1 - x0, y1 - y0);
  const width = x1 - x0;
  const transom = y0 + Math.min(width * 0.52, (y1 - y0) * 0.5);
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.8;
  pen.beginPath();
  pen.moveTo(x0, transom), pen.lineTo(x1, transom);
  pen.moveTo(x0, transom + 3), pen.lineTo(x1, transom + 3);
  const middle = (x0 + x1) / 2;
  for (const x of [middle - width / 4, middle, middle + width / 4]) {
    pen.moveTo(x, x === middle ? y0 : transom + 3), pen.lineTo(x, y1);
  }
  for (const turn of [0.25, 0.75]) {
    pen.moveTo(middle, transom), pen.lineTo(middle + Math.cos(Math.PI * turn) * width, transom - Math.sin(Math.PI * turn) * width);
  }
  pen.stroke();
  pen.lineWidth = 0.7;
  pen.beginPath();
  const low = transom + (y1 - transom) * 0.4;
  for (const [dx, length] of [[0.06, 0.3], [0.13, 0.42], [0.56, 0.24]] as const) {
    pen.moveTo(x0 + width * dx, low + length * 30), pen.lineTo(x0 + width * (dx + length * 0.4), low - length * 30);
  }
  pen.stroke();
}

/** A recess is crossed from corner to corner. */
function drawDiagonals(pen: Pen, x0: number, x1: number, y0: number, y1: number, inks: Inks): void {
  pen.strokeStyle = inks.faint;
  pen.lineWidth = 0.8;
  pen.beginPath();
  pen.moveTo(x0, y0), pen.lineTo(x1, y1);
  pen.moveTo(x0, y1), pen.lineTo(x1, y0);
  pen.stroke();
}

/** A circle has its centre lines, in long and short dashes. */
function drawCentreLines(pen: Pen, x0: number, x1: number, y0: number, y1: number, inks: Inks): void {
  pen.save();
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.7;
  pen.setLineDash([9, 3, 2, 3]);
  pen.beginPath();
  pen.moveTo(x0 - 9, (y0 + y1) / 2), pen.lineTo(x1 + 9, (y0 + y1) / 2);
  pen.moveTo((x0 + x1) / 2, y0 - 9), pen.lineTo((x0 + x1) / 2, y1 + 9);
  pen.stroke();
  pen.restore();
}

/** The ground: a heavy line with earth hatched under it. */
function drawGround(pen: Pen, view: View, inks: Inks): void {
  const y = view.y(GROUND_M);
  const left = view.x(view.extent.x_min_m) - 26;
  const right = view.x(view.extent.x_max_m) + 26;
  const chance = sequence(11);
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.7;
  pen.beginPath();
  for (let x = left + 6; x < right; ) {
    const strokes = 3 + Math.floor(chance() * 3);
    for (let i = 0; i < strokes && x < right; i++, x += 3.4) pen.moveTo(x, y + 1), pen.lineTo(x - 5, y + 7);
    x += 8 + chance() * 14;
  }
  pen.stroke();
  pen.strokeStyle = inks.ink;
  pen.lineWidth = 2.4 * lineWeight(view);
  pen.beginPath();
  pen.moveTo(left, y), pen.lineTo(right, y);
  pen.stroke();
}

/** Where the wall goes on below the drawing, it is cut by a line with a kink. */
function drawBreak(pen: Pen, view: View, inks: Inks): void {
  const y = view.y(view.extent.y_min_m);
  const left = view.x(view.extent.x_min_m) - 26;
  const right = view.x(view.extent.x_max_m) + 26;
  const middle = (left + right) / 2;
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.9;
  pen.beginPath();
  pen.moveTo(left, y), pen.lineTo(middle - 9, y), pen.lineTo(middle - 4, y - 9);
  pen.lineTo(middle + 4, y + 9), pen.lineTo(middle + 9, y), pen.lineTo(right, y);
  pen.stroke();
}

export function runWidthPx(view: View, span: ElevationSpan): number {
  const [a, b] = [span.points[0], span.points[1]];
  const pitch = a && b ? Math.hypot(a[0] - b[0], a[1] - b[1]) * view.pxPerM : 4;
  return Math.min(10, Math.max(2.2 + 1.6 * lineWeight(view), pitch + 1.6));
}

/** A run lies in an inked trough, where its lamps read as light on any ground; a silent node's is hollow and hatched. */
function drawRun(pen: Pen, span: ElevationSpan, view: View, inks: Inks, silent: boolean): void {
  const width = runWidthPx(view, span);
  pen.save();
  pen.lineCap = "butt";
  trace(pen, lengthened(span.points), view);
  pen.strokeStyle = silent ? inks.ink : inks.edge;
  pen.lineWidth = width + 1.2;
  pen.stroke();
  pen.strokeStyle = silent ? inks.paper : inks.trough;
  pen.lineWidth = width - 0.6;
  pen.stroke();
  if (silent) {
    pen.strokeStyle = inks.ink;
    pen.setLineDash([1, 3]);
    pen.stroke();
  }
  pen.restore();
}
