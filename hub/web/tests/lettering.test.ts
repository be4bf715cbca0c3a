import { describe, expect, it } from "vitest";
import { cloudPath } from "../src/drawing/cloud";
import { drawable, letter } from "../src/drawing/lettering";

describe("lettering", () => {
  it("draws every capital, figure and sign that the sheet uses", () => {
    expect(drawable("The quick brown fox jumps over a lazy dog, 0123456789 +−±.:()/")).toBe(true);
    expect(drawable("Ωmega")).toBe(false);
  });

  it("stays inside its width and between the lines", () => {
    for (const character of "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") {
      const { path, width } = letter(character);
      for (const [, x, y] of path.matchAll(/[ML](-?[\d.]+) (-?[\d.]+)/g)) {
        expect(Number(x)).toBeGreaterThanOrEqual(-1.2);
        expect(Number(x)).toBeLessThanOrEqual(width + 1.2);
        expect(Number(y)).toBeGreaterThanOrEqual(-6);
        expect(Number(y)).toBeLessThanOrEqual(2);
      }
    }
  });

  it("has no width for nothing", () => {
    expect(letter("")).toEqual({ path: "", width: 0 });
  });
});

describe("clouds", () => {
  it("close on themselves around the rectangle", () => {
    const arcs = [...cloudPath(10, 20, 90, 45, 9).matchAll(/a\S+ \S+ 0 0 1 (-?[\d.]+) (-?[\d.]+)/g)];
    expect(arcs).toHaveLength(30);
    expect(arcs.reduce((sum, [, dx]) => sum + Number(dx), 0)).toBeCloseTo(0);
    expect(arcs.reduce((sum, [, , dy]) => sum + Number(dy), 0)).toBeCloseTo(0);
  });
});
