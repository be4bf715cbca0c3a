/** Images as scenes carry them: rows of sRGB bytes, packed with zlib (RFC 1950), in base64. */

/** Bytes that zlib may add to what it cannot make smaller. */
const PACKING_BYTES = 192;
const MOST_SIDE = 128;

export interface Size {
  columns: number;
  rows: number;
}

/** The largest size of the same proportions that holds no more than `points`, and no side above `MOST_SIDE`. */
export function fittedSize(width: number, height: number, points: number): Size {
  const scale = Math.min(1, Math.sqrt(points / (width * height)), MOST_SIDE / width, MOST_SIDE / height);
  const columns = Math.max(1, Math.floor(width * scale + 1e-9));
  const rows = Math.max(1, Math.min(Math.floor(height * scale + 1e-9), Math.floor(points / columns)));
  return { columns, rows };
}

/** Points of an image that surely fits a text of `longest` characters. */
export function pointsWithin(longest: number): number {
  return Math.max(1, Math.floor((Math.floor(longest / 4) * 3 - PACKING_BYTES) / 3));
}

export async function packed(rgb: Uint8Array<ArrayBuffer>): Promise<string> {
  return base64(await through(rgb, new CompressionStream("deflate")));
}

export async function unpacked(text: string): Promise<Uint8Array> {
  return through(Uint8Array.from(atob(text), (byte) => byte.charCodeAt(0)), new DecompressionStream("deflate"));
}

/** A file's image, small enough for a text of `longest` characters. Throws where it is no image. */
export async function keptPicture(file: Blob, longest: number): Promise<Size & { packed: string }> {
  const bitmap = await createImageBitmap(file);
  const size = fittedSize(bitmap.width, bitmap.height, pointsWithin(longest));
  const pen = new OffscreenCanvas(size.columns, size.rows).getContext("2d")!;
  pen.imageSmoothingQuality = "high";
  pen.fillRect(0, 0, size.columns, size.rows);
  pen.drawImage(bitmap, 0, 0, size.columns, size.rows);
  const { data } = pen.getImageData(0, 0, size.columns, size.rows);
  return { ...size, packed: await packed(new Uint8Array(data.filter((_, i) => i % 4 < 3))) };
}

/** Draws what a scene carries, a point a pixel; nothing where it is not what it says. */
export async function shownPicture(canvas: HTMLCanvasElement, text: string, columns: number, rows: number): Promise<void> {
  let rgb: Uint8Array;
  try {
    rgb = await unpacked(text);
  } catch {
    return;
  }
  if (rgb.length !== columns * rows * 3) return;
  [canvas.width, canvas.height] = [columns, rows];
  const pen = canvas.getContext("2d")!;
  const image = pen.createImageData(columns, rows);
  for (let point = 0; point < columns * rows; point++) {
    image.data.set(rgb.subarray(point * 3, point * 3 + 3), point * 4);
    image.data[point * 4 + 3] = 255;
  }
  pen.putImageData(image, 0, 0);
}

async function through(bytes: Uint8Array<ArrayBuffer>, way: CompressionStream | DecompressionStream): Promise<Uint8Array> {
  return new Uint8Array(await new Response(new Blob([bytes]).stream().pipeThrough(way)).arrayBuffer());
}

function base64(bytes: Uint8Array): string {
  return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
}
