import { describe, expect, it } from "vitest";
import { nameOf } from "../src/api/download";
import type { Audit, NodeState } from "../src/api/contract";
import { energy, headroom, levelName, money, percent, volts, wiringName } from "../src/format";
import { daysTo } from "../src/state/days";
import { drawnByNode, notesOn, runsOn } from "../src/state/wiring";

describe("what of the audit concerns a supply", () => {
  const run = (channel: number, ...supplies: string[]) => ({ node: "n", channel, feeds: supplies.map((supply) => ({ supply })) });
  const audit = {
    runs: [run(1, "a"), run(2, "b"), run(3, "b", "a")],
    notes: [
      { node: "n", channel: 3, supplies: ["a", "b"], text: "joined" },
      { node: "n", channel: 3, supplies: ["b"], text: "of b" },
      { node: "m", channel: 3, supplies: ["a"], text: "elsewhere" },
    ],
  } as unknown as Audit;

  it("are the runs that it feeds, each with its notes", () => {
    const runs = runsOn(audit, "a");
    expect(runs.map(({ channel }) => channel)).toEqual([1, 3]);
    expect(runs.map((each) => notesOn(audit, "a", each).map(({ text }) => text))).toEqual([[], ["joined"]]);
  });

  it("are the readings of nodes that are on", () => {
    const node = (id: string, online: boolean, supply = "a") => ({ node: id, online, supplies: [{ supply, amps: 1.5 }] });
    const nodes = [node("x", true), node("y", false), node("z", true, "b")] as unknown as NodeState[];
    expect([...drawnByNode(nodes, "a")]).toEqual([["x", 1.5]]);
  });
});

describe("figures of a supply's sheet", () => {
  it("say how much is left, or how much too much is drawn", () => {
    expect(headroom({ amps: 0.2, pixels: 3 })).toBe("0.20 A to spare, 3 pixels more");
    expect(headroom({ amps: -5.8, pixels: -97 })).toBe("5.80 A too much, 97 pixels too many");
    expect(headroom({ amps: 0.06, pixels: 1 })).toBe("0.06 A to spare, 1 pixel more");
    expect(headroom({ amps: 4, pixels: null })).toBe("4.00 A to spare");
  });

  it("name levels, wiring, volts and energy", () => {
    expect([levelName("typical"), levelName("under-budget"), levelName("worst-case")]).toEqual(["typical", "under the budget", "worst case"]);
    expect([wiringName("attention"), wiringName("new")]).toEqual(["needs attention", "new"]);
    expect([volts(4.6915), volts(null)]).toEqual(["4.69 V", "–"]);
    expect([0, 0.0123, 3.456, 1234.4].map(energy)).toEqual(["0.0 Wh", "12.3 Wh", "3.46 kWh", "1234 kWh"]);
    expect([1, 0.33].map(percent)).toEqual(["100 %", "33 %"]);
    expect(money(1.5, "EUR")).toMatch(/1[.,]50/);
  });

  it("count the venue's days, the last with them", () => {
    expect(daysTo(Date.UTC(2031, 2, 1, 0, 30), 7, "UTC")).toEqual({ from: "2031-02-23", to: "2031-03-01" });
    expect(daysTo(Date.UTC(2031, 2, 1, 23, 59), 1, "UTC")).toEqual({ from: "2031-03-01", to: "2031-03-01" });
    expect(daysTo(Date.UTC(2031, 2, 1, 11, 30), 1, "Pacific/Auckland")).toEqual({ from: "2031-03-02", to: "2031-03-02" });
    expect(daysTo(Date.UTC(2031, 2, 1, 0, 30), 2, "America/New_York")).toEqual({ from: "2031-02-27", to: "2031-02-28" });
  });
});

describe("the name of a download", () => {
  it("is the hub's", () => {
    expect(nameOf('attachment; filename="audit-demo-2031-05-01.csv"')).toBe("audit-demo-2031-05-01.csv");
    expect(nameOf("inline; filename=sheet.pdf")).toBe("sheet.pdf");
  });

  it("is never a path", () => {
    expect(nameOf('attachment; filename="../../etc/passwd"')).toBe("passwd");
    expect([nameOf(null), nameOf("inline"), nameOf('inline; filename="/"')]).toEqual([null, null, null]);
  });
});
