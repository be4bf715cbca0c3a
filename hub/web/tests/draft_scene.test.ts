import { describe, expect, it } from "vitest";
import type { Parameter, PatternView, Zone } from "../src/api/contract";
import { idFor, moved, plainest, statementOf, widest, withField } from "../src/state/draft_scene";
import { labelOf, nudged, numberFrom, rangeOf } from "../src/state/parameter";

const parameter = (name: string, more: Partial<Parameter> = {}): Parameter =>
  ({ name, kind: "number", unit: null, choices: [], items: null, required: true, ...more }) as Parameter;
const pattern = (name: string, parameters: Parameter[], example: Record<string, unknown>): PatternView => ({
  pattern: name,
  sentence: "",
  parameters,
  example,
});

describe("a statement of another pattern", () => {
  const flat = pattern("flat", [parameter("colour", { kind: "colour" })], { pattern: "flat", colour: "#111111" });
  const swell = pattern(
    "swell",
    [parameter("colour", { kind: "colour" }), parameter("speed", { unit: "m/s" }), parameter("size", { unit: "m" })],
    { pattern: "swell", colour: "#222222", speed: 1, size: 2 },
  );
  const beat = pattern("beat", [parameter("colour", { kind: "ramp" }), parameter("speed", { unit: "Hz" }), parameter("size", { unit: "m" })], {
    pattern: "beat",
    colour: [],
    speed: 3,
    size: 4,
  });
  const known = [beat, flat, swell];

  it("keeps what both ask for in the same way, and takes its example for the rest", () => {
    const before = { pattern: "swell", colour: "#abcdef", speed: 9, size: 7 };
    expect(statementOf(flat, before, known)).toEqual({ pattern: "flat", colour: "#abcdef" });
    expect(statementOf(beat, before, known)).toEqual({ pattern: "beat", colour: [], speed: 3, size: 7 });
    expect(statementOf(swell, null, known)).toEqual(swell.example);
  });

  it("begins with the pattern that asks for least", () => {
    expect(plainest(known)).toBe(flat);
    expect(plainest([])).toBeNull();
  });
});

describe("fields and layers", () => {
  it("change in their place, and are left out where nothing is stated", () => {
    expect(Object.entries(withField({ a: 1, b: 2 }, "a", 3))).toEqual([["a", 3], ["b", 2]]);
    expect(withField({ a: 1, b: 2 }, "a", undefined)).toEqual({ b: 2 });
    expect(withField({ a: 1 }, "b", null)).toEqual({ a: 1, b: null });
  });

  it("move, and stay where there is nowhere to go", () => {
    expect(moved(["a", "b", "c"], 0, 2)).toEqual(["b", "c", "a"]);
    expect(moved(["a", "b"], 1, 2)).toEqual(["a", "b"]);
    expect(moved(["a", "b"], 0, -1)).toEqual(["a", "b"]);
  });

  it("lie over the widest zone at first, counted through the zones that it joins", () => {
    const zones = [
      { id: "a", spans: [{ pixels: 5 }], of: [] },
      { id: "b", spans: [{ pixels: 6 }], of: [] },
      { id: "all", spans: [], of: ["a", "b"] },
    ] as unknown as Zone[];
    expect(widest(zones)?.id).toBe("all");
    expect(widest([])).toBeNull();
  });
});

describe("the id of a new scene", () => {
  it("is its title in plain letters, and nobody else's", () => {
    expect(idFor("Slow tide, copy", [])).toBe("slow-tide-copy");
    expect(idFor("  Über–Nacht!  ", [])).toBe("uber-nacht");
    expect(idFor("Frost", ["frost", "frost-2"])).toBe("frost-3");
    expect(idFor("夜", [])).toBe("scene");
  });

  it("is one that the hub takes, however long the title", () => {
    for (const title of ["a".repeat(80), "ab ".repeat(40), "-", "a-"]) {
      expect(idFor(title, [idFor(title, [])])).toMatch(/^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$/);
    }
  });
});

describe("a number's field", () => {
  it("is named without its unit, which stands beside its range", () => {
    expect(labelOf({ name: "speed_m_per_s", unit: "m/s" })).toBe("Speed");
    expect(labelOf({ name: "phase_s", unit: "s" })).toBe("Phase");
    expect(labelOf({ name: "stops", unit: "s" })).toBe("Stops");
    expect(rangeOf({ unit: "m/s", least: -100, most: 100 })).toBe("m/s, −100 to 100");
    expect(rangeOf({ unit: null, least: 0, most: null })).toBe("0 or more");
    expect(rangeOf({ unit: "K", least: null, most: null })).toBe("K");
  });

  it("takes what people write, and hands what is no number to the hub", () => {
    expect(["1.5", "1,5", "−2", " 3 ", "", "x1", "1.2.3"].map(numberFrom)).toEqual([1.5, 1.5, -2, 3, undefined, "x1", "1.2.3"]);
  });

  it("goes up and down by a step of its size, within its range", () => {
    const free = { kind: "number", least: null, most: null } as const;
    expect([nudged(3, 1, free), nudged(12, -1, free), nudged(0, 1, free), nudged(0.34, 1, free)]).toEqual([3.1, 11, 0.1, 0.35]);
    expect(nudged(1, 1, { kind: "number", least: 0, most: 1 })).toBe(1);
    expect(nudged(0.5, -1, { kind: "number", least: 0, most: 1 })).toBe(0.45);
    expect(nudged(7, 1, { kind: "whole-number", least: 0, most: 10_000 })).toBe(8);
    expect(nudged(-3, 1, free)).toBe(-2.9);
  });
});
