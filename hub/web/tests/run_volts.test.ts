import { describe, expect, it } from "vitest";
import type { RunAudit } from "../src/api/contract";
import { graduation, stepFor } from "../src/drawing/graduation";
import { scaleFor, shortfallPath, stretchesOf, voltsPath, VoltsScale } from "../src/drawing/run_volts";

const FRAME = { left: 40, right: 240, top: 10, bottom: 110 };
const run = (changes: Partial<RunAudit> = {}): RunAudit => ({ pixels: 4, minimum_v: 3.5, ...changes }) as RunAudit;
/** One volt is 50 px, one pixel is 50 px. */
const SCALE = new VoltsScale(FRAME, 4, 3, 5);
const placesIn = (path: string): number[][] => [...path.matchAll(/[ML]([\d.-]+) ([\d.-]+)/g)].map(([, x, y]) => [Number(x), Number(y)]);

describe("a graduated scale", () => {
  it("has steps of 1, 2 or 5, as many as fit", () => {
    expect([stepFor(0, 9, 10), stepFor(0, 11, 10), stepFor(0, 25, 10), stepFor(3.4, 5.1, 5), stepFor(0, 70, 10)]).toEqual([1, 2, 5, 0.5, 10]);
  });

  it("has its marks within the ends, without rounding's tails", () => {
    expect(graduation(3.38, 5.12, 5)).toEqual([3.5, 4, 4.5, 5]);
    expect(graduation(0, 0.6, 6)).toEqual([0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]);
    expect(graduation(0, 0, 5)).toEqual([0]);
  });

  it.each([
    [0, 1e-9, 3],
    [0, 2e6, 7],
    [4.99, 5, 4],
  ])("never has more than %f to %f in %i steps", (low, high, most) => {
    const marks = graduation(low, high, most);
    expect(marks.length).toBeGreaterThan(0);
    expect(marks.length).toBeLessThanOrEqual(most + 1);
  });
});

describe("the scale of volts along a run", () => {
  it("holds the supply's volts, the lowest working ones and all others", () => {
    const scale = scaleFor(FRAME, run(), 5, [5, 4.8, 3.1, null]);
    expect(scale.lowV).toBeLessThan(3.1);
    expect(scale.highV).toBeGreaterThan(5);
    expect(scaleFor(FRAME, run({ minimum_v: 0 }), 5, [null]).lowV).toBe(0);
    expect(scaleFor(FRAME, run({ minimum_v: 5 }), 5, [5]).highV).toBeGreaterThan(5);
  });

  it("puts pixels in the middle of their width, and finds them again", () => {
    expect([0, 1, 2, 3].map((pixel) => SCALE.x(pixel))).toEqual([65, 115, 165, 215]);
    expect([0, 1, 2, 3].map((pixel) => SCALE.pixelAt(SCALE.x(pixel)))).toEqual([0, 1, 2, 3]);
    expect([SCALE.pixelAt(-500), SCALE.pixelAt(5_000)]).toEqual([0, 3]);
  });

  it("has volts upwards; what lies below its foot lies on it", () => {
    expect([5, 4, 3, -20].map((value) => SCALE.y(value))).toEqual([10, 60, 110, 110]);
  });
});

describe("the line of volts", () => {
  it("is parted at cuts of the positive rail and where no feed reaches", () => {
    expect(stretchesOf([5, 5, 5, 5], [])).toEqual([[0, 3]]);
    expect(stretchesOf([5, 5, 5, 5], [2])).toEqual([[0, 1], [2, 3]]);
    expect(stretchesOf([null, 5, null, 5], [])).toEqual([[1, 1], [3, 3]]);
    expect(stretchesOf([null, null], [1])).toEqual([]);
  });

  it("goes through every pixel's volts", () => {
    const path = voltsPath([5, 4, 4, 4.5], [[0, 1], [2, 3]], SCALE);
    expect(path.match(/M/g)).toHaveLength(2);
    expect(placesIn(path)).toEqual(expect.arrayContaining([[65, 10], [115, 60], [165, 60], [215, 35]]));
  });

  it("shows one pixel alone", () => {
    const places = placesIn(voltsPath([5, 4, 5, 5], [[1, 1]], SCALE));
    expect(places.at(-1)![0]! - places[0]![0]!).toBeGreaterThan(40);
  });

  it("costs no more points than the drawing is wide, and keeps the lowest of them", () => {
    const volts = Array.from({ length: 4_096 }, (_, i) => (i === 2_777 ? 3.2 : 4.5));
    const scale = new VoltsScale(FRAME, 4_096, 3, 5);
    const places = placesIn(voltsPath(volts, [[0, 4_095]], scale));
    expect(places.length).toBeLessThanOrEqual(204);
    expect(Math.max(...places.map(([, y]) => y!))).toBeCloseTo(scale.y(3.2), 1);
  });

  it("is hatched only where it lies below the lowest working volts", () => {
    expect(shortfallPath([5, 4, 3.6, 3.5], [[0, 3]], SCALE, 3.5)).toBe("");
    const path = shortfallPath([3.2, 4, 3.2, 3.1], [[0, 3]], SCALE, 3.5);
    expect(path.match(/M/g)).toHaveLength(2);
    expect(path).toContain(`M40.0 ${SCALE.y(3.5).toFixed(1)}`);
    expect(path).toContain("H240.0");
  });
});
