import { describe, expect, it } from "vitest";
import { datesFrom, daysBy, daysText, momentFrom, momentText, newEntry, plainEntry, retitled, withDaysBy, type DraftEntry } from "../src/state/draft_timetable";

const entry: DraftEntry = { id: "nights", title: "Nights", scene: "evening", begins: "sunset", ends: "23:00", fade_ms: 3_000 };
const TODAY = "2026-11-26";

describe("a moment", () => {
  it.each(["18:30", "sunset", "civil dusk + 20 min", "sunrise - 45 min"])("%s is taken apart and put together again", (text) => {
    expect(momentText(momentFrom(text))).toBe(text);
  });

  it("that cannot be read stays as it was written, for the hub to refuse", () => {
    expect(momentFrom("half past six")).toEqual({ by: "clock", time: "half past six" });
    expect(momentText({ by: "sunset", offsetMin: "soon" })).toBe("sunset + soon min");
  });
});

describe("days", () => {
  it("are told as a person would", () => {
    expect(daysText(entry)).toBe("every day");
    expect(daysText({ ...entry, weekdays: ["mon", "tue", "wed"] })).toMatch(/^\p{L}+ to \p{L}+$/u);
    expect(daysText({ ...entry, weekdays: ["fri", "mon"] })).toMatch(/^\p{L}+, \p{L}+$/u);
    expect(daysText({ ...entry, dates: ["2026-12-24", "2026-12-25", "2026-12-26", "2026-12-31"] })).toContain("and 1 more");
    expect(daysText({ ...entry, rule: "FREQ=MONTHLY;BYDAY=1FR", first_day: TODAY })).toMatch(/^FREQ=MONTHLY;BYDAY=1FR, from .*2026.* on$/);
    expect(daysText({ ...entry, first_day: TODAY, last_day: "2027-01-06", except_dates: ["2026-12-24"] })).toMatch(/from .* to .*, not on .*24/);
  });

  it("are named by one way only", () => {
    const ruled = withDaysBy({ ...entry, weekdays: ["fri"] }, "a rule", TODAY);
    expect([daysBy(ruled), ruled.weekdays, ruled.first_day]).toEqual(["a rule", [], TODAY]);
    const dated = withDaysBy({ ...ruled, last_day: "2027-01-01" }, "dates", TODAY);
    expect([daysBy(dated), dated.rule, dated.first_day, dated.last_day]).toEqual(["dates", null, null, null]);
    expect(daysBy(withDaysBy(dated, "every day", TODAY))).toBe("every day");
  });

  it("may be written in any of the usual ways, and what is no date stays", () => {
    expect(datesFrom("2026-12-24, 2026-12-31;2027-01-01 tomorrow")).toEqual(["2026-12-24", "2026-12-31", "2027-01-01", "tomorrow"]);
    expect(datesFrom("  ")).toEqual([]);
  });
});

describe("an entry", () => {
  it("takes its id from its title until the hub knows it", () => {
    const begun = newEntry("evening", ["entry"]);
    expect(begun.id).toBe("entry-2");
    expect(retitled(begun, "Market hours", true, ["market-hours"]).id).toBe("market-hours-2");
    expect(retitled(entry, "Market hours", false, []).id).toBe("nights");
    expect(retitled(entry, "", false, []).title).toBeNull();
  });

  it("is sent without what says nothing, but with darkness", () => {
    const dark = { ...entry, title: null, scene: null, dates: [], weekdays: [], rule: null, except_dates: [] };
    expect(plainEntry(dark)).toEqual({ id: "nights", scene: null, begins: "sunset", ends: "23:00", fade_ms: 3_000 });
  });
});
