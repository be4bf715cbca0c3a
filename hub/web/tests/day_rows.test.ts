import { describe, expect, it } from "vitest";
import type { Spell, SunTimes } from "../src/api/contract";
import { barsOf, placeIn, skyOf } from "../src/state/day_rows";
import { clockIn, monthAfter, wallTime, weekdayOf } from "../src/state/local_time";

const VIENNA = "Europe/Vienna";
const at = (utc: string): number => Date.parse(utc);
const moment = (utc: string): Spell["begins"] => ({ at_ms: at(utc), local: "" });
const spell = (begins: string, ends: string): Spell => ({ entry: "e", begins: moment(begins), ends: moment(ends) }) as Spell;

describe("the venue's clock", () => {
  it("is its zone's, not the reader's", () => {
    expect(clockIn(at("2026-11-26T20:05:00Z"), VIENNA)).toBe("21:05");
    expect(wallTime(at("2026-11-26T23:30:00Z"), VIENNA)).toEqual({ day: "2026-11-27", minutes: 30 });
  });

  it("shows the same hour twice as summer ends, and skips one as it begins", () => {
    // IANA time zone database: Europe/Vienna changes at 01:00 UTC on the last Sundays of March and October.
    expect([at("2026-10-25T00:30:00Z"), at("2026-10-25T01:30:00Z")].map((ms) => clockIn(ms, VIENNA))).toEqual(["02:30", "02:30"]);
    expect([at("2026-03-29T00:59:00Z"), at("2026-03-29T01:00:00Z")].map((ms) => clockIn(ms, VIENNA))).toEqual(["01:59", "03:00"]);
  });

  it("may stand a half hour off", () => {
    expect(clockIn(at("2026-01-15T00:00:00Z"), "Asia/Kolkata")).toBe("05:30");
  });
});

describe("a day's bars", () => {
  it("are cut at midnight, and lie on both days", () => {
    const late = [spell("2026-11-27T19:00:00Z", "2026-11-28T00:00:00Z")];
    expect(barsOf("2026-11-27", late, VIENNA).map(({ from, to }) => [from, to])).toEqual([[20 / 24, 1]]);
    expect(barsOf("2026-11-28", late, VIENNA).map(({ from, to }) => [from, to])).toEqual([[0, 1 / 24]]);
    expect(barsOf("2026-11-26", late, VIENNA)).toEqual([]);
    expect(barsOf("2026-11-29", late, VIENNA)).toEqual([]);
  });

  it("stand in the order of the clock", () => {
    const bars = barsOf("2026-11-26", [spell("2026-11-26T15:00:00Z", "2026-11-26T20:00:00Z"), spell("2026-11-26T06:00:00Z", "2026-11-26T09:00:00Z")], VIENNA);
    expect(bars.map(({ from }) => from)).toEqual([7 / 24, 16 / 24]);
  });

  it("that end at midnight do not reach the next day", () => {
    expect(barsOf("2026-11-27", [spell("2026-11-26T20:00:00Z", "2026-11-26T23:00:00Z")], VIENNA)).toEqual([]);
  });
});

describe("a day's sky", () => {
  const sun = (dawn: string | null, rise: string | null, set: string | null, dusk: string | null): SunTimes => {
    const each = (time: string | null): Spell["begins"] | null => (time === null ? null : moment(`2026-06-21T${time}:00Z`));
    return { civil_dawn: each(dawn), sunrise: each(rise), noon: moment("2026-06-21T12:00:00Z"), sunset: each(set), civil_dusk: each(dusk), told: "" };
  };
  const lights = (of: SunTimes): string[] => skyOf("2026-06-21", of, "UTC").map(({ light, from, to }) => `${light} ${from * 24}-${to * 24}`);

  it("goes from night over twilight to day and back", () => {
    expect(lights(sun("03:00", "04:00", "20:00", "21:00"))).toEqual(["night 0-3", "twilight 3-4", "day 4-20", "twilight 20-21", "night 21-24"]);
  });

  it("has no night where twilight lasts till morning", () => {
    expect(lights(sun(null, "02:00", "22:00", null))).toEqual(["twilight 0-2", "day 2-22", "twilight 22-24"]);
  });

  it("has no day where the sun stays below", () => {
    expect(lights(sun("11:00", null, null, "13:00"))).toEqual(["night 0-11", "twilight 11-12", "twilight 12-13", "night 13-24"]);
  });

  it("is left to words where the sun crosses nothing", () => {
    expect(lights(sun(null, null, null, null))).toEqual([]);
    expect(skyOf("2026-06-21", null, "UTC")).toEqual([]);
  });
});

it("now has its place on today, and none before or after", () => {
  expect(placeIn("2026-11-26", at("2026-11-26T11:00:00Z"), VIENNA)).toBe(0.5);
  expect([placeIn("2026-11-25", at("2026-11-26T11:00:00Z"), VIENNA), placeIn("2026-11-27", at("2026-11-26T11:00:00Z"), VIENNA)]).toEqual([1, 0]);
});

it("months and weekdays follow the calendar", () => {
  expect([monthAfter("2026-12", 1), monthAfter("2026-01", -1)]).toEqual(["2027-01", "2025-12"]);
  expect([weekdayOf("2026-11-30"), weekdayOf("2026-11-29")]).toEqual([1, 7]);
});
