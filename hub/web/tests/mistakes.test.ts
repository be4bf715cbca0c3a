import { describe, expect, it } from "vitest";
import { outside, placed, placeOf, within } from "../src/state/mistakes";

const scene = {
  id: "x",
  title: "X",
  layers: [
    { zone: "front", pattern: { pattern: "wave", crest: "#ffffff", wavelength_m: 3 } },
    { zone: "front", pattern: { pattern: "bands", stops: [{ at: 0, colour: "gold" }] }, mask: { pattern: "wave", crest: { kelvin: 9 } } },
  ],
};

describe("the place of a mistake", () => {
  it.each([
    ["title", "title"],
    ["body.layers[0].zone", "layers[0].zone"],
    ["scenes[4].layers[1].zone", "layers[1].zone"],
    ["body.layers[0].pattern.wave.speed_m_per_s", "layers[0].pattern.speed_m_per_s"],
    ["layers[0].pattern.wavelength_m", "layers[0].pattern.wavelength_m"],
    ["layers[0].pattern.wave", "layers[0].pattern"],
    ["layers[0].pattern.crest.text", "layers[0].pattern.crest"],
    ["layers[1].mask.wave.crest.kelvin.kelvin", "layers[1].mask.crest.kelvin"],
    ["layers[1].pattern.bands.stops[0].colour.text", "layers[1].pattern.stops[0].colour"],
    ["body", ""],
    ["layers[7].zone", "layers[7]"],
  ])("%s is told at %s", (field, place) => {
    expect(placeOf(field, scene)).toBe(place);
  });

  it("is within its field, and told nowhere twice", () => {
    const mistakes = placed(
      ["layers[1].pattern.stops[0].at", "layers[1].zone", "layers[10].zone", "elsewhere"].map((field) => ({ field, reason: "r", remedy: "m", line: null })),
      scene,
    );
    expect(within(mistakes, "layers[1].pattern").map(({ place }) => place)).toEqual(["layers[1].pattern.stops[0].at"]);
    expect(within(mistakes, "layers[1]")).toHaveLength(2);
    expect(outside(mistakes, ["layers[1]"]).map(({ field }) => field)).toEqual(["layers[10].zone", "elsewhere"]);
  });
});
