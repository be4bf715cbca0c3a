import { describe, expect, it } from "vitest";
import { amps, fadeName, level, metres, milliseconds, scaleName, verdict } from "../src/format";

describe("figures on the sheet", () => {
  it("write amps with three figures and say when there is no reading", () => {
    expect([0, 3.2, 9.99, 12, 123.4].map((value) => amps(value))).toEqual(["0.00 A", "3.20 A", "9.99 A", "12.0 A", "123 A"]);
    expect(amps(null)).toBe("–");
  });

  it("write levels with their sign", () => {
    expect([5.4, -1.2, 0, -0.001].map(level)).toEqual(["+5.40", "−1.20", "±0.00", "±0.00"]);
    expect(metres(47.875)).toBe("47.88");
  });

  it("name scales as they are named on drawings", () => {
    expect([168.4, 49.9, 1_234, 4.2].map(scaleName)).toEqual(["1 : 170", "1 : 50", "1 : 1200", "1 : 4.2"]);
  });

  it("name fades", () => {
    expect([0, 1_000, 30_000, 120_000].map(fadeName)).toEqual(["at once", "1 s", "30 s", "2 min"]);
  });

  it("write milliseconds and verdicts", () => {
    expect([milliseconds(0.42), milliseconds(-31.2), milliseconds(null)]).toEqual(["0.4 ms", "-31 ms", "–"]);
    expect(["within", "only-under-budget", "something-new"].map(verdict)).toEqual([
      "within budget",
      "safe only under the budget",
      "something new",
    ]);
  });
});
