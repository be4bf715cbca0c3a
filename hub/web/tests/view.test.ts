import { describe, expect, it } from "vitest";
import { fit, framed } from "../src/drawing/view";

const NONE = { top: 0, right: 0, bottom: 0, left: 0 };
const FRONT = { x_min_m: 0, x_max_m: 48, y_min_m: -4, y_max_m: 8 };

describe("the view of an elevation", () => {
  it("maps the corners of the extent to the corners inside the margins", () => {
    const view = fit(FRONT, 520, 1_000, { top: 10, right: 20, bottom: 30, left: 20 });
    expect(view.pxPerM).toBeCloseTo(10);
    expect([view.x(0), view.x(48)]).toEqual([20, 500]);
    expect([view.y(8), view.y(-4)]).toEqual([10, 130]);
    expect([view.widthPx, view.heightPx]).toEqual([520, 160]);
  });

  it("turns metres up into pixels down", () => {
    const view = fit(FRONT, 500, 1_000, NONE);
    expect(view.y(2)).toBeLessThan(view.y(1));
  });

  it("lets the height bind on a tall front, and centres it", () => {
    const view = fit({ x_min_m: 0, x_max_m: 10, y_min_m: 0, y_max_m: 40 }, 1_000, 400, NONE);
    expect(view.pxPerM).toBeCloseTo(10);
    expect((view.x(0) + view.x(10)) / 2).toBeCloseTo(500);
  });

  it("draws twice as large when asked, wider than the room", () => {
    const view = fit(FRONT, 480, 1_000, NONE, 2);
    expect(view.pxPerM).toBeCloseTo(20);
    expect(view.widthPx).toBe(960);
  });

  it("names the drawing's scale", () => {
    // 96 px are 25.4 mm in CSS, so 3.7795 px to the metre is 1 : 1000.
    const view = fit({ x_min_m: 0, x_max_m: 100, y_min_m: 0, y_max_m: 20 }, 377.95, 1_000, NONE);
    expect(view.scale).toBeCloseTo(1_000, 0);
  });

  it("reaches down to the ground when that is near", () => {
    expect(framed({ x_min_m: 0, x_max_m: 10, y_min_m: 2, y_max_m: 4 }).y_min_m).toBe(0);
    expect(framed({ x_min_m: 0, x_max_m: 1, y_min_m: 2, y_max_m: 2.5 }).y_min_m).toBe(2);
  });

  it.each([
    { x_min_m: 0, x_max_m: 0.5, y_min_m: 0, y_max_m: 0 },
    { x_min_m: 3, x_max_m: 3, y_min_m: 5, y_max_m: 5 },
    { x_min_m: -1, x_max_m: -1, y_min_m: -2, y_max_m: 3 },
  ])("is finite and holds every point of %o", (extent) => {
    const view = fit(extent, 900, 450, { top: 20, right: 20, bottom: 20, left: 20 });
    for (const x of [view.x(extent.x_min_m), view.x(extent.x_max_m)]) {
      expect(x).toBeGreaterThanOrEqual(20);
      expect(x).toBeLessThanOrEqual(view.widthPx - 20 + 1e-6);
    }
    for (const y of [view.y(extent.y_min_m), view.y(extent.y_max_m)]) {
      expect(y).toBeGreaterThanOrEqual(20 - 1);
      expect(y).toBeLessThanOrEqual(view.heightPx - 20 + 1e-6);
    }
  });
});
