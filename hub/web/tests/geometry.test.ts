import { describe, expect, it } from "vitest";
import type { ElevationSpan, Point } from "../src/api/contract";
import { linesOf, pixelPlaces, shapeOf, walls } from "../src/drawing/geometry";

const along = (count: number, place: (share: number) => Point): Point[] =>
  Array.from({ length: count }, (_, i) => place((i + 0.5) / count));

const arch = along(60, (share) => [-2 * Math.cos(Math.PI * share), 3 * Math.sin(Math.PI * share)]);
const ring = along(60, (share) => [Math.cos(2 * Math.PI * share), 5 + Math.sin(2 * Math.PI * share)]);
const level = along(40, (share) => [share * 10, 4]);

const span = (points: Point[], offset = 0): ElevationSpan => ({
  node: "a",
  channel: 1,
  first: 0,
  pixels: points.length,
  points,
  offset,
});

describe("shapes of runs", () => {
  it("tells openings, rings, panels and lines apart", () => {
    const corners: Point[] = [[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]];
    const box = along(80, (share) => {
      const [a, b] = [corners[Math.floor(share * 4)]!, corners[Math.floor(share * 4) + 1]!];
      const part = (share * 4) % 1;
      return [a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part];
    });
    expect([arch, ring, box, level].map(shapeOf)).toEqual(["opening", "round", "panel", "line"]);
  });

  it("does not call a short run anything but a line", () => {
    expect(shapeOf([[0, 0], [1, 1], [0, 0]])).toBe("line");
    expect(shapeOf([])).toBe("line");
  });

  it("joins spans whose ends meet, whichever way they run", () => {
    const [west, east] = [arch.slice(0, 30), arch.slice(30)];
    for (const pair of [[west, east], [west, east.toReversed()], [west.toReversed(), east]]) {
      const lines = linesOf(pair.map((points) => span(points)));
      expect(lines).toHaveLength(1);
      expect(shapeOf(lines[0]!)).toBe("opening");
    }
  });

  it("keeps spans apart that do not meet", () => {
    expect(linesOf([span(arch), span(level)])).toHaveLength(2);
  });
});

describe("walls", () => {
  const places = (points: Point[]): Float32Array => Float32Array.from(points.flat());

  it("are as high as the highest pixel and its coping", () => {
    const [wall] = walls(places(level), 0, 0.2);
    expect(Math.max(...wall!.top.map(([, y]) => y))).toBeCloseTo(4.2);
    expect(wall!.top[0]![0]).toBeCloseTo(-0.075, 1);
  });

  it("part at a wide gap", () => {
    const right = level.map(([x, y]): Point => [x + 30, y]);
    expect(walls(places([...level, ...right]), 0, 0.2)).toHaveLength(2);
  });

  it("leave out what lies under the ground, and there may be none", () => {
    expect(walls(places(level.map(([x]): Point => [x, -3])), 0, 0.2)).toEqual([]);
    expect(walls(new Float32Array(), 0, 0.2)).toEqual([]);
  });
});

describe("pixel places", () => {
  it("follow the offsets and stay inside the frame", () => {
    const zones = [{ id: "z", title: "Z", spans: [span([[1, 2], [3, 4]], 1)] }];
    const bounds = { x_min_m: 0, x_max_m: 1, y_min_m: 0, y_max_m: 1 };
    const found = pixelPlaces({ venue: "v", title: "V", pixels: 2, zones, ...bounds });
    expect([...found]).toEqual([NaN, NaN, 1, 2]);
  });
});
