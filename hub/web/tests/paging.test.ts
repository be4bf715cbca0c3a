import { describe, expect, it } from "vitest";
import { matching, pageOf } from "../src/state/paging";

const TEN = [..."abcdefghij"];

describe("a page of a list", () => {
  it("is the one that holds the wanted item", () => {
    expect(pageOf(TEN, 0, 4)).toEqual({ items: ["a", "b", "c", "d"], start: 0, total: 10 });
    expect(pageOf(TEN, 9, 4)).toEqual({ items: ["i", "j"], start: 8, total: 10 });
    expect(pageOf(TEN, 5, 4).start).toBe(4);
  });

  it("stays within a list that has become shorter, or empty", () => {
    expect(pageOf(TEN, 4_000, 4).start).toBe(8);
    expect(pageOf(TEN, -3, 4).start).toBe(0);
    expect(pageOf([], 8, 4)).toEqual({ items: [], start: 0, total: 0 });
  });
});

describe("words sought in a list", () => {
  const rows = ["Bay 1, west", "Bay 2, west", "Fascia, east"];
  it("must all be there, in any order and case", () => {
    expect(matching(rows, "WEST bay", (row) => row)).toEqual(rows.slice(0, 2));
    expect(matching(rows, "bay east", (row) => row)).toEqual([]);
  });

  it("are no pattern, and none find everything", () => {
    expect(matching(rows, ".*", (row) => row)).toEqual([]);
    expect(matching(rows, "  ", (row) => row)).toBe(rows);
  });
});
