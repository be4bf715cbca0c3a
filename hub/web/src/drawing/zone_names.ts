/** Names of zones, lettered where there is room for them: along wide zones, and inside openings. */

import type { Elevation, ElevationZone } from "../api/contract";
import { boxOf, shapeOf, type Box } from "./geometry";
import type { Inks } from "./ink";
import { runWidthPx, type Pen } from "./linework";
import { drawText, textWidth } from "./stroke_text";
import type { View } from "./view";

const LETTER_PX = 6.5;

export function drawZoneNames(pen: Pen, elevation: Elevation, view: View, inks: Inks): void {
  const taken: Box[] = [];
  for (const zone of elevation.zones) {
    const place = placeOf(zone, view);
    if (!place) continue;
    const text = zone.title || zone.id;
    const width = textWidth(text, LETTER_PX);
    const box = { x0: place.x - 3, y0: place.y - LETTER_PX - 3, x1: place.x + width + 3, y1: place.y + 3 };
    if (width > place.room || taken.some((other) => overlap(other, box))) continue;
    taken.push(box);
    drawText(pen, text, { x: place.x, y: place.y, heightPx: LETTER_PX, colour: inks.ink, ground: inks.paper });
  }
}

function placeOf(zone: ElevationZone, view: View): { x: number; y: number; room: number } | null {
  const box = boxOf(zone.spans.flatMap((span) => span.points));
  if (!box) return null;
  const [x0, x1, y0, y1] = [view.x(box.x0), view.x(box.x1), view.y(box.y1), view.y(box.y0)];
  const wide = x1 - x0 > 3 * (y1 - y0);
  const lines = zone.spans.every((span) => shapeOf(span.points) === "line");
  if (!wide) return null;
  return lines ? { x: x0 + 10, y: y0 - runWidthPx(view, zone.spans[0]!) / 2 - 3, room: x1 - x0 - 20 } : { x: x0, y: y1 + 14, room: x1 - x0 };
}

function overlap(a: Box, b: Box): boolean {
  return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;
}
