/** Stroke lettering on the canvas; text with characters that it lacks is set in the page's ordinary type. */

import { drawable, letter } from "./lettering";
import type { Pen } from "./linework";

export interface TextPlace {
  x: number;
  y: number;
  heightPx: number;
  align?: "left" | "centre" | "right";
  colour: string;
  turned?: boolean;
  /** Clears the paper behind the letters. */
  ground?: string;
}

export function textWidth(text: string, heightPx: number): number {
  return (drawable(text) ? letter(text).width : text.length * 4.4) * (heightPx / 6);
}

export function drawText(pen: Pen, text: string, place: TextPlace): void {
  const unit = place.heightPx / 6;
  const width = textWidth(text, place.heightPx);
  const shift = place.align === "right" ? -width : place.align === "centre" ? -width / 2 : 0;
  pen.save();
  pen.translate(place.x, place.y);
  if (place.turned) pen.rotate(-Math.PI / 2);
  pen.translate(shift, 0);
  if (place.ground) {
    pen.fillStyle = place.ground;
    pen.fillRect(-3, -place.heightPx - 2.5, width + 6, place.heightPx + 5);
  }
  if (drawable(text)) {
    pen.scale(unit, unit);
    pen.strokeStyle = place.colour;
    pen.lineWidth = Math.max(0.55, 0.95 / unit);
    pen.lineCap = "round";
    pen.lineJoin = "round";
    pen.stroke(new Path2D(letter(text).path));
  } else {
    pen.fillStyle = place.colour;
    pen.font = `${place.heightPx * 1.35}px system-ui, sans-serif`;
    pen.fillText(text, 0, 0, width * 1.2);
  }
  pen.restore();
}
