import { describe, expect, it } from "vitest";
import type { PreviewSupply } from "../src/api/contract";
import { byNeed, coursePath, CourseScale, limitingPath } from "../src/drawing/course";
import { cssColour, cssRamp } from "../src/drawing/paint";
import { fittedSize, packed, pointsWithin, unpacked } from "../src/drawing/picture";

const supply = (more: Partial<PreviewSupply> = {}): PreviewSupply =>
  ({ supply: "a", budget_a: 5, highest_a: 10, limiter_scale: 1, limiting: [], asked_a: [], let_through_a: [], ...more }) as PreviewSupply;
const frame = { left: 0, right: 100, top: 0, bottom: 112 };

describe("amps over a period", () => {
  const scale = new CourseScale(frame, supply(), 4);

  it("lie on scales of the period and of the highest amps", () => {
    expect([scale.x(0), scale.x(2), scale.x(9)]).toEqual([0, 50, 100]);
    expect([scale.y(0), scale.y(10)]).toEqual([112, 12]);
  });

  it("are level over each step; one figure over all of a scene that stands still", () => {
    expect(coursePath([0, 10], 2, scale)).toBe("M0.0 112.0H50.0L50.0 12.0H100.0");
    expect(coursePath([10], 0, new CourseScale(frame, supply(), 0))).toBe("M0.0 12.0H100.0");
  });

  it("are marked where the limiter acts, a short while too", () => {
    const limiting = [
      { start_s: 1, end_s: 2, lowest_scale: 0.5 },
      { start_s: 3, end_s: 3.001, lowest_scale: 0.9 },
    ];
    expect(limitingPath(supply({ limiting }), scale)).toBe("M25.0 0.0H50.0V112H25.0zM75.0 0.0H76.5V112H75.0z");
    const still = supply({ limiting: [{ start_s: 0, end_s: 0, lowest_scale: 0.5 }] });
    expect(limitingPath(still, new CourseScale(frame, still, 0))).toBe("M0.0 0.0H100.0V112H0.0z");
  });

  it("are told of the supplies first that the limiter holds down, then of the fullest", () => {
    const supplies = [supply({ supply: "idle", highest_a: 1 }), supply({ supply: "near", highest_a: 4 }), supply({ supply: "held", limiter_scale: 0.5 })];
    expect(byNeed(supplies).map((each) => each.supply)).toEqual(["held", "near", "idle"]);
  });
});

describe("colours of a scene in CSS", () => {
  it("are those that a browser can tell by itself", () => {
    expect(["#a0b1c2", "gold", { linear: [0, 0.5, 1] }].map(cssColour)).toEqual(["#a0b1c2", "gold", "color(srgb-linear 0 0.5 1)"]);
    expect([{ kelvin: 2700 }, "url(x)", "#abc", null, 3, { linear: [1, "x", 2] }].map(cssColour)).toEqual(Array(6).fill(null));
  });

  it("run into one another as the hub mixes them", () => {
    const stops = [{ at: 0, colour: "red" }, { at: 0.25, colour: "#00ff00" }];
    expect(cssRamp(stops, "oklab")).toBe("linear-gradient(to right in oklab, red 0%, #00ff00 25%)");
    expect(cssRamp(stops, "linear")).toContain("in srgb-linear,");
    expect(cssRamp([...stops, { at: 1, colour: { kelvin: 3000 } }], "oklab")).toBeNull();
  });
});

describe("an image in a scene", () => {
  it("keeps its proportions within the points that there are", () => {
    expect(fittedSize(16, 9, 4_096)).toEqual({ columns: 16, rows: 9 });
    expect(fittedSize(4_000, 3_000, 4_096)).toEqual({ columns: 73, rows: 55 });
    expect(fittedSize(10_000, 10, 4_096)).toEqual({ columns: 128, rows: 1 });
    for (const [width, height] of [[1, 9_999], [641, 480], [3, 2_000]] as const) {
      const { columns, rows } = fittedSize(width, height, 4_096);
      expect(columns * rows).toBeLessThanOrEqual(4_096);
      expect(Math.min(columns, rows)).toBeGreaterThanOrEqual(1);
    }
  });

  it("fits its text even where nothing can be made smaller", async () => {
    let state = 1;
    const noise = Uint8Array.from({ length: pointsWithin(16_640) * 3 }, () => (state = (state * 48_271) % 2_147_483_647) & 255);
    const text = await packed(noise);
    expect(text.length).toBeLessThanOrEqual(16_640);
    expect(await unpacked(text)).toEqual(noise);
  });
});
