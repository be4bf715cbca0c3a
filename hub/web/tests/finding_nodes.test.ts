import { describe, expect, it } from "vitest";
import type { Finding } from "../src/api/contract";
import { nodesOf, subjectOf } from "../src/state/finding_nodes";

const finding = (id: string, fields: Partial<Finding>): Finding =>
  ({ id, node: null, supply: null, cause: null, folded_into: null, ...fields }) as Finding;

describe("a finding's place", () => {
  it("is its node, or the nodes that are folded into it", () => {
    const parent = finding("9", { cause: { kind: "supply", name: "psu-3" } });
    const open = [parent, finding("7", { node: "a", folded_into: "9" }), finding("8", { node: "b", folded_into: "9" }), finding("6", { node: "c" }), finding("4", { node: "b", folded_into: "9" })];
    expect(nodesOf(parent, open)).toEqual(["a", "b"]);
    expect(nodesOf(open[3]!, open)).toEqual(["c"]);
    expect(nodesOf(finding("5", {}), open)).toEqual([]);
  });

  it("is named for what its nodes share, its supply or its node", () => {
    expect(subjectOf(finding("1", { cause: { kind: "switch", name: "sw-1" }, node: "a" }))).toBe("switch sw-1");
    expect(subjectOf(finding("1", { cause: { kind: "venue", name: "arcade" } }))).toBe("all the venue");
    expect(subjectOf(finding("1", { supply: "psu-3", node: "a" }))).toBe("supply psu-3");
    expect(subjectOf(finding("1", { node: "a" }))).toBe("a");
    expect(subjectOf(finding("1", {}))).toBe("the venue");
  });
});
