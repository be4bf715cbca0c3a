/** Dimension lines under the front and levels beside it, read from the pixels' positions. */

import type { Elevation } from "../api/contract";
import { metres, level } from "../format";
import { boxOf, centreOf, linesOf, shapeOf } from "./geometry";
import type { Inks } from "./ink";
import type { Pen } from "./linework";
import { drawText, textWidth } from "./stroke_text";
import type { View } from "./view";

const LETTER_PX = 7;
const NARROWEST_PX = 28;
const LEVEL_PX = 48;

export function drawDimensions(pen: Pen, elevation: Elevation, view: View, inks: Inks, grounded: boolean): void {
  const left = elevation.x_min_m;
  const right = elevation.x_max_m;
  const foot = view.y(view.extent.y_min_m);
  const chain = chainPlaces(elevation).filter((x) => x > left && x < right);
  const places = [left, ...chain, right];
  const fits = places.every((x, i) => i === 0 || view.x(x) - view.x(places[i - 1]!) >= NARROWEST_PX);
  const chained = fits && chain.length > 0;
  if (chained) drawChain(pen, places, foot + 40, view, inks);
  if (right - left > 0.05) drawChain(pen, [left, right], foot + (chained ? 60 : 38), view, inks);
  drawLevels(pen, elevation, view, inks, grounded);
}

/** The centres of openings, or else the ends of zones. */
function chainPlaces(elevation: Elevation): number[] {
  const openings = elevation.zones
    .flatMap((zone) => linesOf(zone.spans))
    .filter((line) => shapeOf(line) === "opening")
    .map((line) => centreOf(line)[0]);
  const ends = elevation.zones.flatMap((zone) => {
    const box = boxOf(zone.spans.flatMap((span) => span.points));
    return box ? [box.x0, box.x1] : [];
  });
  const sorted = (openings.length > 1 ? openings : ends).sort((a, b) => a - b);
  const apart = 0.01 * (elevation.x_max_m - elevation.x_min_m);
  return sorted.filter((x, i) => i === 0 || x - sorted[i - 1]! > apart);
}

function drawChain(pen: Pen, places: readonly number[], y: number, view: View, inks: Inks): void {
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.8;
  pen.beginPath();
  pen.moveTo(view.x(places[0]!) - 6, y), pen.lineTo(view.x(places.at(-1)!) + 6, y);
  for (const place of places) pen.moveTo(view.x(place), y - 9), pen.lineTo(view.x(place), y + 5);
  pen.stroke();
  pen.strokeStyle = inks.ink;
  pen.lineWidth = 1.5;
  pen.beginPath();
  for (const place of places) pen.moveTo(view.x(place) - 3, y + 3), pen.lineTo(view.x(place) + 3, y - 3);
  pen.stroke();
  for (let i = 1; i < places.length; i++) {
    const text = metres(places[i]! - places[i - 1]!);
    const x = (view.x(places[i]!) + view.x(places[i - 1]!)) / 2;
    const room = view.x(places[i]!) - view.x(places[i - 1]!);
    if (textWidth(text, LETTER_PX) > room - 6) continue;
    drawText(pen, text, { x, y: y - 4, heightPx: LETTER_PX, align: "centre", colour: inks.ink });
  }
}

function drawLevels(pen: Pen, elevation: Elevation, view: View, inks: Inks, grounded: boolean): void {
  const wide = 0.2 * (elevation.x_max_m - elevation.x_min_m);
  const found = new Set<number>([elevation.y_max_m]);
  if (grounded) found.add(0);
  for (const zone of elevation.zones) {
    const box = boxOf(zone.spans.flatMap((span) => span.points));
    if (!box || box.x1 - box.x0 < wide) continue;
    if (box.y1 - box.y0 < 0.1) found.add(box.y0);
    else found.add(box.y1);
  }
  const x = view.x(view.extent.x_max_m) + 34;
  if (x + LEVEL_PX > view.widthPx) return;
  let lastY = Infinity;
  for (const metresUp of [...found].sort((a, b) => a - b)) {
    const y = view.y(metresUp);
    if (lastY - y < 11) continue;
    lastY = y;
    drawLevel(pen, x, y, level(metresUp), inks);
  }
}

function drawLevel(pen: Pen, x: number, y: number, text: string, inks: Inks): void {
  pen.strokeStyle = inks.soft;
  pen.lineWidth = 0.8;
  pen.beginPath();
  pen.moveTo(x - 12, y), pen.lineTo(x + 10 + textWidth(text, LETTER_PX), y);
  pen.stroke();
  pen.fillStyle = inks.ink;
  pen.beginPath();
  pen.moveTo(x - 6, y), pen.lineTo(x - 2, y - 5.5), pen.lineTo(x - 10, y - 5.5);
  pen.closePath();
  pen.fill();
  drawText(pen, text, { x: x + 3, y: y - 3, heightPx: LETTER_PX, colour: inks.ink });
}
