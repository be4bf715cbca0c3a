/** Where a place on the elevation (metres, y up) lies on the sheet (CSS pixels, y down). */

export interface ExtentMetres {
  x_min_m: number;
  x_max_m: number;
  y_min_m: number;
  y_max_m: number;
}

export interface Margins {
  top: number;
  right: number;
  bottom: number;
  left: number;
}

/** CSS defines 96 px to the inch, so a drawing scale can be named. */
const METRES_PER_PX = 0.0254 / 96;
/** A lone run has no height; it still gets a wall to hang on. */
const FLATTEST = 0.16;
const GROUND_REACH = 0.5;

export class View {
  constructor(
    readonly extent: ExtentMetres,
    readonly pxPerM: number,
    readonly widthPx: number,
    readonly heightPx: number,
    private readonly leftPx: number,
    private readonly bottomPx: number,
  ) {}

  x(metres: number): number {
    return this.leftPx + (metres - this.extent.x_min_m) * this.pxPerM;
  }

  y(metres: number): number {
    return this.heightPx - this.bottomPx - (metres - this.extent.y_min_m) * this.pxPerM;
  }

  /** N of the drawing's scale 1 : N. */
  get scale(): number {
    return 1 / (this.pxPerM * METRES_PER_PX);
  }
}

/** The venue's extent, down to the ground where that is near, and never flat. */
export function framed(extent: ExtentMetres): ExtentMetres {
  const width = Math.max(extent.x_max_m - extent.x_min_m, 0.1);
  const grounded = extent.y_min_m > 0 && extent.y_min_m <= GROUND_REACH * width;
  const y_min_m = grounded ? 0 : extent.y_min_m;
  const wanting = Math.max(0, FLATTEST * width - (extent.y_max_m - y_min_m));
  // What hangs in the air shows the wall under it; what stands on the ground has its room above.
  const standing = grounded || y_min_m === 0;
  return {
    x_min_m: extent.x_min_m,
    x_max_m: extent.x_min_m + width,
    y_min_m: standing ? y_min_m : y_min_m - wanting * 0.8,
    y_max_m: extent.y_max_m + (standing ? wanting : wanting * 0.2),
  };
}

/** The largest view of the extent that fits the width and height, times `zoom`. */
export function fit(
  extent: ExtentMetres,
  widthPx: number,
  tallestPx: number,
  margins: Margins,
  zoom = 1,
): View {
  const whole = framed(extent);
  const roomX = Math.max(widthPx - margins.left - margins.right, 40);
  const roomY = Math.max(tallestPx - margins.top - margins.bottom, 40);
  const wide = whole.x_max_m - whole.x_min_m;
  const high = whole.y_max_m - whole.y_min_m;
  const pxPerM = Math.min(roomX / wide, roomY / high) * zoom;
  const drawnWidth = wide * pxPerM;
  const width = Math.max(widthPx, Math.ceil(drawnWidth + margins.left + margins.right));
  const height = Math.ceil(high * pxPerM + margins.top + margins.bottom);
  const left = margins.left + (width - margins.left - margins.right - drawnWidth) / 2;
  return new View(whole, pxPerM, width, height, left, margins.bottom);
}
