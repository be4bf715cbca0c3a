import { describe, expect, it } from "vitest";
import { bandPath, HistoryScale, meanPath, pointAt, stretches, type Band } from "../src/drawing/history";
import { midnightOf, timeMarks } from "../src/state/history_span";

const frame = { left: 0, right: 100, top: 0, bottom: 100 };
const band: Band = { low: [0, 2, null, 4], mean: [1, 3, null, 4], high: [2, 10, null, 4] };
const at = [0, 25, 50, 75];

describe("a figure's history", () => {
  const scale = new HistoryScale(frame, 0, 100, band, null, null);

  it("is an area from lowest to highest, and parts where nothing was told", () => {
    expect(stretches(band.low)).toEqual([{ from: 0, to: 2 }, { from: 3, to: 4 }]);
    expect(stretches(band.low, false)).toEqual([{ from: 2, to: 3 }]);
    expect(bandPath(at, 25, band, scale)).toBe(
      "M0.0 80.0L12.5 80.0L37.5 0.0L50.0 0.0L50.0 80.0L37.5 80.0L12.5 100.0L0.0 100.0z" +
        "M75.0 60.0L87.5 60.0L100.0 60.0L100.0 60.0L87.5 60.0L75.0 60.0z",
    );
    expect(meanPath(at, 25, band, scale)).toBe("M0.0 90.0L12.5 90.0L37.5 70.0L50.0 70.0M75.0 60.0L87.5 60.0L100.0 60.0");
  });

  it("has a scale of its own, which what is always in view widens", () => {
    expect(new HistoryScale(frame, 0, 1, band, null, 20).marks).toEqual([0, 10, 20]);
    const level = new HistoryScale(frame, 0, 1, { low: [5], mean: [5], high: [5] }, null, null);
    expect(level.y(5)).toBe(50);
    const nothing = new HistoryScale(frame, 0, 1, { low: [null], mean: [null], high: [null] }, null, null);
    expect([nothing.y(0), nothing.y(1)]).toEqual([100, 0]);
  });

  it("is read at the point in whose time the pointer lies", () => {
    expect([-9, 0, 24, 25, 99, 1_000].map((ms) => pointAt(at, ms))).toEqual([0, 0, 0, 1, 3, 3]);
  });
});

describe("marks of the time axis", () => {
  const vienna = "Europe/Vienna";

  it("lie at the venue's midnights, also on days with a change of the clocks", () => {
    expect(midnightOf("2026-03-29", vienna)).toBe(Date.parse("2026-03-28T23:00Z"));
    expect(midnightOf("2026-03-30", vienna)).toBe(Date.parse("2026-03-29T22:00Z"));
    expect(midnightOf("2026-10-26", vienna)).toBe(Date.parse("2026-10-25T23:00Z"));
    expect(midnightOf("2026-11-27", "Asia/Kathmandu")).toBe(Date.parse("2026-11-26T18:15Z"));
    expect(midnightOf("2026-11-27", "America/Denver")).toBe(Date.parse("2026-11-27T07:00Z"));
  });

  it("are hours of a day, days of a week, weeks of a month and months of a year", () => {
    const until = Date.parse("2026-11-27T12:34Z");
    const of = (span: "day" | "week" | "month" | "year", days: number): string[] =>
      timeMarks(span, until - days * 86_400_000, until, vienna).map(({ ms }) => new Date(ms).toISOString());
    expect(of("day", 1)).toEqual(
      ["26T14", "26T17", "26T20", "26T23", "27T02", "27T05", "27T08", "27T11"].map((hour) => `2026-11-${hour}:00:00.000Z`),
    );
    expect(of("week", 7)).toHaveLength(7);
    expect(of("month", 31).map((each) => each.slice(5, 10))).toEqual(["10-31", "11-07", "11-14", "11-21"]);
    const year = of("year", 366);
    expect([year.length, year[0], year.at(-1)]).toEqual([12, "2025-11-30T23:00:00.000Z", "2026-10-31T23:00:00.000Z"]);
  });
});
