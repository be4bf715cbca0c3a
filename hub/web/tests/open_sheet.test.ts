import { describe, expect, it } from "vitest";
import { fragmentWithoutToken } from "../src/api/session";
import { fragmentOf, placeFromFragment, type Kind } from "../src/state/open_sheet.svelte";

const KINDS: readonly Kind[] = ["supply", "node", "history", "finding", "fault", "notification", "scene", "new-scene", "looks", "timetable", "rollouts", "cues"];

describe("the address of a sheet", () => {
  it("names what the sheet is of, whatever that is called", () => {
    for (const kind of KINDS) {
      for (const id of ["bay-06-5v", "a b&c=d#e%", "ü"]) {
        expect(placeFromFragment(fragmentOf({ venue: "front", kind, id }))).toEqual({ venue: "front", kind, id });
      }
    }
    const none = ["", "#", "#venue=a", "#venue=a&supply=", "#venue=a&scene=", "#venue=a&node=", "#supply=b", "#scene=b", "#other=1"];
    expect(none.map(placeFromFragment)).toEqual(none.map(() => null));
  });

  it("may be of a scene that copies nothing", () => {
    const place = { venue: "front", kind: "new-scene", id: "" } as const;
    expect(placeFromFragment(fragmentOf(place))).toEqual(place);
  });

  it("keeps what it names and loses the token", () => {
    expect(fragmentWithoutToken("#token=abc&venue=front&supply=bay-06-5v")).toBe("#venue=front&supply=bay-06-5v");
    expect(["#token=abc", "#token=", "#", ""].map(fragmentWithoutToken)).toEqual(["", "", "", ""]);
  });
});
