import { describe, expect, it } from "vitest";
import { FrameReader } from "../src/api/frames";

const PIXELS = 5;

function record(revision: number, colour: number, pixels = PIXELS, showTimeS = 1_700_000_000.25): Uint8Array {
  const bytes = new Uint8Array(16 + pixels * 3).fill(colour);
  const view = new DataView(bytes.buffer);
  view.setUint32(0, 12 + pixels * 3, true);
  view.setFloat64(4, showTimeS, true);
  view.setUint32(12, revision, true);
  return bytes;
}

const joined = (...parts: Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((part) => [...part]));

describe("the frame reader", () => {
  it("reads a record that arrives whole", () => {
    const frame = new FrameReader(PIXELS).push(record(7, 42));
    expect(frame).toEqual({ showTimeS: 1_700_000_000.25, revision: 7, rgb: new Uint8Array(15).fill(42) });
  });

  it("reads a record however it is split", () => {
    const bytes = joined(record(1, 10), record(2, 20));
    for (let first = 0; first <= bytes.length; first++) {
      for (let second = first; second <= bytes.length; second++) {
        const reader = new FrameReader(PIXELS);
        const frames = [bytes.slice(0, first), bytes.slice(first, second), bytes.slice(second)]
          .map((chunk) => reader.push(chunk))
          .filter((frame) => frame !== null);
        expect(frames.at(-1)?.revision).toBe(2);
        expect(frames.at(-1)?.rgb).toEqual(new Uint8Array(15).fill(20));
      }
    }
  });

  it("answers the newest of several records in one chunk, and keeps the begun one", () => {
    const reader = new FrameReader(PIXELS);
    const next = record(4, 40);
    expect(reader.push(joined(record(1, 1), record(2, 2), record(3, 3), next.slice(0, 9)))?.revision).toBe(3);
    expect(reader.push(next.slice(9))?.revision).toBe(4);
  });

  it("does not change a frame that it handed out", () => {
    const reader = new FrameReader(PIXELS);
    const frame = reader.push(record(1, 11));
    reader.push(record(2, 22));
    expect(frame?.rgb[0]).toBe(11);
  });

  it.each([0, 11, 12 + PIXELS * 3 - 1, 12 + PIXELS * 3 + 1, 0xffff_ffff])("refuses a record of %i bytes", (length) => {
    const bytes = record(1, 1);
    new DataView(bytes.buffer).setUint32(0, length, true);
    expect(() => new FrameReader(PIXELS).push(bytes)).toThrow(/does not fit this elevation/);
  });

  it("refuses a hostile length before the rest of the record has arrived", () => {
    expect(() => new FrameReader(PIXELS).push(Uint8Array.of(255, 255, 255, 255))).toThrow(RangeError);
  });

  it("refuses a show time that is no number", () => {
    expect(() => new FrameReader(PIXELS).push(record(1, 1, PIXELS, NaN))).toThrow(/show time/);
  });

  it("reads an elevation without pixels", () => {
    expect(new FrameReader(0).push(record(3, 0, 0))?.rgb).toHaveLength(0);
  });
});
