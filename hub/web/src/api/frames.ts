/** Reads the hub's endless stream of frames: what every pixel of the elevation shows, record after record.
 *
 * A record is little-endian: uint32 length of the rest, float64 show time in seconds, uint32 revision, then one
 * R, G, B of 8 bits (sRGB-encoded) for every pixel in the elevation's order.
 */

/** Where frames come from. Another object is another source, even for the same frames. */
export interface FrameSource {
  /** The most frames a second that are worth asking for. */
  rateHz: number;
  open: (rateHz: number, signal: AbortSignal) => Promise<ReadableStream<Uint8Array>>;
}

export interface Frame {
  showTimeS: number;
  revision: number;
  rgb: Uint8Array;
}

const LENGTH_BYTES = 4;
const HEAD_BYTES = 12;

export class FrameReader {
  private readonly record: Uint8Array;
  private readonly view: DataView;
  private filled = 0;

  constructor(private readonly pixels: number) {
    this.record = new Uint8Array(LENGTH_BYTES + HEAD_BYTES + pixels * 3);
    this.view = new DataView(this.record.buffer);
  }

  /** Takes the bytes that arrived; the newest whole frame among them, or null. Throws when they are no record. */
  push(chunk: Uint8Array): Frame | null {
    let newest: Frame | null = null;
    let at = 0;
    while (at < chunk.length) {
      // The length is checked before anything after it is kept, so that a hostile one costs no memory.
      const wanted = this.filled < LENGTH_BYTES ? LENGTH_BYTES : this.record.length;
      const part = chunk.subarray(at, at + wanted - this.filled);
      this.record.set(part, this.filled);
      this.filled += part.length;
      at += part.length;
      if (this.filled === LENGTH_BYTES) this.checkLength();
      if (this.filled === this.record.length) {
        newest = this.frame();
        this.filled = 0;
      }
    }
    return newest;
  }

  private checkLength(): void {
    const said = this.view.getUint32(0, true);
    const expected = HEAD_BYTES + this.pixels * 3;
    if (said !== expected) {
      throw new RangeError(`a frame of ${said} bytes does not fit this elevation, which takes ${expected}`);
    }
  }

  private frame(): Frame {
    const showTimeS = this.view.getFloat64(LENGTH_BYTES, true);
    if (!Number.isFinite(showTimeS)) throw new RangeError("a frame without a show time");
    return {
      showTimeS,
      revision: this.view.getUint32(LENGTH_BYTES + 8, true),
      rgb: this.record.slice(LENGTH_BYTES + HEAD_BYTES),
    };
  }
}
