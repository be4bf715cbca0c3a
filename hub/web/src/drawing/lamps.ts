/** The lamps: a dot of light for every pixel, repainted whole for each frame.
 *
 * Which lamp owns which point of the canvas never changes between frames, so it is worked out once; a frame is then one
 * pass over those points and one image handed to the canvas, for 100,000 lamps as for ten.
 */

import type { View } from "./view";

const LARGEST_PX = 4;
const SMALLEST_PX = 0.8;

export class Lamps {
  private readonly image: ImageData;
  private readonly words: Uint32Array;
  private readonly points: Uint32Array;
  private readonly owners: Uint32Array;
  private readonly alphas: Uint32Array;

  constructor(
    private readonly pen: CanvasRenderingContext2D,
    places: Float32Array,
    private readonly hidden: Uint8Array,
    view: View,
    density: number,
  ) {
    const width = pen.canvas.width;
    const height = pen.canvas.height;
    this.image = pen.createImageData(width, height);
    this.words = new Uint32Array(this.image.data.buffer);
    const radius = dotRadius(places, view.pxPerM * density, density);
    const cover = new Uint8Array(width * height);
    const owner = new Uint32Array(width * height);
    const reach = Math.ceil(radius);
    for (let lamp = 0; lamp * 2 < places.length; lamp++) {
      if (this.hidden[lamp] || Number.isNaN(places[lamp * 2]!)) continue;
      const cx = view.x(places[lamp * 2]!) * density;
      const cy = view.y(places[lamp * 2 + 1]!) * density;
      for (let y = Math.floor(cy) - reach; y <= cy + reach; y++) {
        for (let x = Math.floor(cx) - reach; x <= cx + reach; x++) {
          if (x < 0 || y < 0 || x >= width || y >= height) continue;
          const away = Math.hypot(x + 0.5 - cx, y + 0.5 - cy);
          const alpha = Math.round(255 * Math.min(1, Math.max(0, radius - away + 0.5)));
          const at = y * width + x;
          if (alpha > cover[at]!) [cover[at], owner[at]] = [alpha, lamp];
        }
      }
    }
    const count = cover.reduce((total, alpha) => total + (alpha > 0 ? 1 : 0), 0);
    this.points = new Uint32Array(count);
    this.owners = new Uint32Array(count);
    this.alphas = new Uint32Array(count);
    for (let at = 0, k = 0; at < cover.length; at++) {
      if (cover[at] === 0) continue;
      this.points[k] = at;
      this.owners[k] = owner[at]! * 3;
      this.alphas[k++] = (cover[at]! << 24) >>> 0;
    }
  }

  paint(rgb: Uint8Array): void {
    const { words, points, owners, alphas } = this;
    for (let k = 0; k < points.length; k++) {
      const at = owners[k]!;
      // Every machine that runs a browser today is little-endian: alpha, blue, green, red from the top.
      words[points[k]!] = alphas[k]! | (rgb[at + 2]! << 16) | (rgb[at + 1]! << 8) | rgb[at]!;
    }
    this.pen.putImageData(this.image, 0, 0);
  }
}

/** Nearly half of the usual distance between neighbours, so that lamps stay apart. */
function dotRadius(places: Float32Array, pxPerM: number, density: number): number {
  const gaps: number[] = [];
  for (let i = 2; i < places.length; i += 2) {
    const gap = Math.hypot(places[i]! - places[i - 2]!, places[i + 1]! - places[i - 1]!);
    if (gap > 0) gaps.push(gap);
  }
  gaps.sort((a, b) => a - b);
  const pitch = (gaps[gaps.length >> 1] ?? 0.1) * pxPerM;
  return Math.min(LARGEST_PX * density, Math.max(SMALLEST_PX * density, pitch * 0.46));
}
