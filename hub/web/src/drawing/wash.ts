/** The light that the lamps throw on the sheet, as a wash of colour: gathered in coarse cells, softened, and stretched. */

import type { View } from "./view";

export const CELL_PX = 7;
/** Lamps that a cell usually holds, so that a small drawing is not drowned in its own light. */
const USUAL = 2.5;

export class Wash {
  private readonly image: ImageData;
  private readonly cells: Int32Array;
  private readonly sums: Float32Array;
  private readonly soft: Float32Array;
  private readonly width: number;
  private readonly height: number;
  private readonly half: number;

  constructor(
    private readonly pen: CanvasRenderingContext2D,
    places: Float32Array,
    hidden: Uint8Array,
    view: View,
    private readonly strength: number,
  ) {
    this.width = pen.canvas.width;
    this.height = pen.canvas.height;
    this.image = pen.createImageData(this.width, this.height);
    this.cells = new Int32Array(places.length / 2).fill(-1);
    for (let lamp = 0; lamp < this.cells.length; lamp++) {
      const x = Math.floor(view.x(places[lamp * 2]!) / CELL_PX);
      const y = Math.floor(view.y(places[lamp * 2 + 1]!) / CELL_PX);
      if (!hidden[lamp] && x >= 0 && y >= 0 && x < this.width && y < this.height) this.cells[lamp] = y * this.width + x;
    }
    const lit = this.cells.filter((cell) => cell >= 0);
    const crowd = lit.length / Math.max(1, new Set(lit).size);
    this.half = 225 * Math.max(0.4, crowd / USUAL);
    this.sums = new Float32Array(this.width * this.height * 3);
    this.soft = new Float32Array(this.sums.length);
  }

  paint(rgb: Uint8Array): void {
    const { sums, cells, image } = this;
    sums.fill(0);
    for (let lamp = 0; lamp < cells.length; lamp++) {
      const cell = cells[lamp]!;
      if (cell < 0) continue;
      sums[cell * 3]! += rgb[lamp * 3]!;
      sums[cell * 3 + 1]! += rgb[lamp * 3 + 1]!;
      sums[cell * 3 + 2]! += rgb[lamp * 3 + 2]!;
    }
    for (let pass = 0; pass < 2; pass++) this.soften();
    for (let cell = 0; cell < this.width * this.height; cell++) {
      const [r, g, b] = [sums[cell * 3]!, sums[cell * 3 + 1]!, sums[cell * 3 + 2]!];
      const most = Math.max(r, g, b);
      if (most < 1) {
        image.data[cell * 4 + 3] = 0;
        continue;
      }
      image.data[cell * 4] = (r / most) * 255;
      image.data[cell * 4 + 1] = (g / most) * 255;
      image.data[cell * 4 + 2] = (b / most) * 255;
      image.data[cell * 4 + 3] = 255 * this.strength * (most / (most + this.half));
    }
    this.pen.putImageData(image, 0, 0);
  }

  /** Each cell takes the mean of itself and its neighbours, first along rows, then along columns. */
  private soften(): void {
    const { sums, soft, width, height } = this;
    const row = width * 3;
    for (let i = 0; i < sums.length; i++) {
      const column = i % row;
      const before = column >= 3 ? sums[i - 3]! : 0;
      const after = column < row - 3 ? sums[i + 3]! : 0;
      soft[i] = (before + 2 * sums[i]! + after) / 4;
    }
    for (let i = 0; i < sums.length; i++) {
      const before = i >= row ? soft[i - row]! : 0;
      const after = i < row * (height - 1) ? soft[i + row]! : 0;
      sums[i] = (before + 2 * soft[i]! + after) / 4;
    }
  }
}
