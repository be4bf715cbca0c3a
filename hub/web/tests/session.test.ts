import { describe, expect, it } from "vitest";
import { problemFrom } from "../src/api/problem";
import { pauseMs } from "../src/api/reconnect";
import { tokenFromFragment } from "../src/api/session";

describe("the session", () => {
  it("finds the token in the address's fragment", () => {
    expect(tokenFromFragment("#token=abc-_1")).toBe("abc-_1");
    expect(["", "#", "#token=", "#token=%20", "#other=1"].map(tokenFromFragment)).toEqual([null, null, null, null, null]);
  });

  it("pauses longer after each failure, never past ten seconds, never at once", () => {
    expect(pauseMs(0, 0)).toBe(200);
    expect(pauseMs(3, 1)).toBe(3_200);
    expect(pauseMs(1_000, 1)).toBe(10_000);
  });
});

describe("problems", () => {
  it("carry the hub's words, field and remedy", () => {
    const mistakes = [{ field: "body.scene", reason: "no such scene", remedy: "list the scenes", line: null }];
    const problem = problemFrom(422, { title: "Invalid input", detail: "1 mistake", mistakes });
    expect(problem.message).toBe("Invalid input: 1 mistake");
    expect(problem.mistakes).toEqual(mistakes);
  });

  it.each([null, 5, "x", [], { title: 3, mistakes: "no" }, { mistakes: [null, 4, {}] }])("survive a body of %j", (body) => {
    const problem = problemFrom(500, body);
    expect(problem.title).toBe("The hub answered 500");
    expect(problem.mistakes.every((mistake) => typeof mistake.reason === "string")).toBe(true);
  });
});
