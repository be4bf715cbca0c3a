import { describe, expect, it } from "vitest";
import type { NodeState } from "../src/api/contract";
import { byStanding, standingOf } from "../src/state/standing";

const node = (changes: Partial<NodeState> = {}): NodeState =>
  ({ node: "a", online: true, revision_desired: 3, revision_staged: null, revision_showing: 3, refusal: null, ...changes }) as NodeState;

const refusal = { field: "f", reason: "r", remedy: "m" };

describe("a node's standing", () => {
  it.each([
    ["in step", {}],
    ["silent", { online: false, refusal }],
    ["refuses", { refusal, revision_showing: 2 }],
    ["in step", { refusal }],
    ["staged", { revision_showing: 2, revision_staged: 3 }],
    ["behind", { revision_showing: 2, revision_staged: 2 }],
    ["behind", { revision_showing: null }],
  ] as const)("is %s", (standing, changes) => {
    expect(standingOf(node(changes))).toBe(standing);
  });

  it("puts what needs a person first, then names in the order of their numbers", () => {
    const nodes = [node({ node: "bay-10" }), node({ node: "bay-9" }), node({ node: "z", online: false })];
    expect(byStanding(nodes).map((each) => each.node)).toEqual(["z", "bay-9", "bay-10"]);
  });
});
