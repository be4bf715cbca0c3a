import { describe, expect, it } from "vitest";
import type { Finding, NodeState, Rollout } from "../src/api/contract";
import { withAnswer, withFinding, withNodes, withRollout } from "../src/state/merge";

const rollout = (revision: number, state: Rollout["state"], nodes_staged = 0): Rollout =>
  ({ revision, state, nodes_staged }) as Rollout;
const finding = (id: string, started_at_ms: number, ended_at_ms: number | null = null): Finding =>
  ({ id, started_at_ms, ended_at_ms }) as Finding;
const node = (id: string, online = true): NodeState => ({ node: id, online }) as NodeState;

describe("rollouts", () => {
  it("stand newest first, and are bounded", () => {
    let held: readonly Rollout[] = [];
    for (let revision = 1; revision <= 30; revision++) held = withRollout(held, rollout(revision, "taken"));
    expect(held).toHaveLength(20);
    expect(held[0]?.revision).toBe(30);
  });

  it("go on as events tell", () => {
    let held = withRollout([], rollout(4, "staging"));
    held = withRollout(held, rollout(4, "staging", 3));
    held = withRollout(held, rollout(4, "halted", 3));
    expect(held).toEqual([rollout(4, "halted", 3)]);
  });

  it("go on to the next batch, and back to staging when a node returns", () => {
    const held = withRollout([rollout(4, "soaking")], rollout(4, "staging", 2));
    expect(held).toEqual([rollout(4, "staging", 2)]);
  });

  it.each(["taken", "halted", "staging"] as const)("that are %s already are not changed by the answer, which arrives late", (state) => {
    expect(withAnswer([rollout(4, state, 9)], rollout(4, "staging", 8))).toEqual([rollout(4, state, 9)]);
  });

  it("that nobody told of yet are known from the answer", () => {
    expect(withAnswer([], rollout(4, "staging"))).toEqual([rollout(4, "staging")]);
  });

  it("that waited in line take the place of what they were planned as", () => {
    const begun = { ...rollout(6, "staging"), planned_as: 4 };
    expect(withRollout([rollout(5, "taken"), rollout(4, "planned")], begun)).toEqual([begun, rollout(5, "taken")]);
    expect(withAnswer([begun], rollout(4, "planned"))).toEqual([begun]);
  });
});

describe("findings", () => {
  it("stand oldest first, and leave when they end", () => {
    let open = withFinding([], finding("b", 2));
    open = withFinding(open, finding("a", 1));
    expect(open.map(({ id }) => id)).toEqual(["a", "b"]);
    expect(withFinding(open, finding("a", 1, 9)).map(({ id }) => id)).toEqual(["b"]);
  });

  it("are told once however often they come", () => {
    expect(withFinding([finding("a", 1)], finding("a", 1))).toHaveLength(1);
  });

  it("may end without having been known", () => {
    expect(withFinding([], finding("x", 1, 2))).toEqual([]);
  });
});

describe("nodes", () => {
  it("are replaced in their place, and added when new", () => {
    const heard = new Map([node("c"), node("a", false)].map((each) => [each.node, each]));
    const nodes = withNodes([node("a"), node("b")], heard);
    expect(nodes.map((each) => [each.node, each.online])).toEqual([["a", false], ["b", true], ["c", true]]);
  });
});
