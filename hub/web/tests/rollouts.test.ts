import { describe, expect, it } from "vitest";
import type { Batch, Rollout } from "../src/api/contract";
import { newPlan, planBody, planPlace } from "../src/state/rollout_plan";
import { stepsOf, timeLeft } from "../src/state/rollout_steps";
import { hatchOf, numberOf, sceneNumbers } from "../src/state/scene_numbers";

const TAKEN = { state: "taken", take_at_ms: 1 } as Batch;
const WAITING = { state: "waiting", take_at_ms: null } as Batch;
const rollout = (state: Rollout["state"], more: Partial<Rollout> = {}): Rollout =>
  ({ state, paused: false, waits_for: null, batches: [WAITING], ...more }) as Rollout;

describe("what a person may do about a rollout", () => {
  it.each<[string, Rollout, readonly string[]]>([
    ["that waits for approval", rollout("planned", { waits_for: "approval" }), ["approve", "halt"]],
    ["that waits for its turn", rollout("planned", { waits_for: "its turn" }), ["halt"]],
    ["that is being staged", rollout("staging"), ["pause", "halt"]],
    ["that waits for go", rollout("staged", { waits_for: "go" }), ["go", "pause", "halt"]],
    ["that is paused", rollout("staged", { paused: true, waits_for: "resume" }), ["resume", "halt"]],
    ["of which a batch is watched", rollout("soaking", { batches: [TAKEN, WAITING] }), ["pause", "halt", "revert"]],
    ["that was halted halfway", rollout("halted", { batches: [TAKEN, WAITING] }), ["revert"]],
    ["that was halted before anything changed", rollout("halted"), []],
    ["that is in force", rollout("taken", { batches: [TAKEN] }), []],
    ["that was put back", rollout("reverted", { batches: [TAKEN] }), []],
  ])("%s", (_, of, steps) => {
    expect(stepsOf(of)).toEqual(steps);
  });
});

it("time left is told in two units at most, and never below nothing", () => {
  expect([0, 59_001, 61_000, 3_720_000].map((ms) => timeLeft(ms, 0))).toEqual(["0 s", "1 min 0 s", "1 min 1 s", "1 h 2 min"]);
  expect([timeLeft(5, 9_000), timeLeft(null, 0)]).toEqual(["0 s", ""]);
});

describe("a plan", () => {
  it("is sent with shares for percents, and without gates where nothing is watched", () => {
    const body = planBody({ ...newPlan("frost"), soak_s: 0, tags: ["upstairs"] });
    expect(body).toMatchObject({ scene: "frost", select: { tags: ["upstairs"], zones: [], nodes: [] }, batches: [{ nodes: 1 }, { share: 0.25 }], quorum_share: 0.5 });
    expect(Object.keys(body)).not.toContain("gates");
    expect(planBody(newPlan("frost"))["gates"]).toEqual({ no_new_findings: true, limiter_scale_at_least: null, frame_rate_share_at_least: 0.9 });
  });

  it("waits for one thing at most", () => {
    expect(planBody({ ...newPlan(null), starts: "when a person says go" })).toMatchObject({ wait_for_go: true });
    const timed = planBody({ ...newPlan(null), starts: "at a time", take_at: "2026-11-26T21:00" });
    expect(timed).toMatchObject({ take_at_ms: Date.parse("2026-11-26T21:00") });
    expect(timed).not.toHaveProperty("wait_for_go");
  });

  it("leaves what is no number, and what is no time, for the hub to refuse", () => {
    const body = planBody({ ...newPlan(null), soak_s: "a minute", quorum_percent: "half", starts: "at a time", take_at: "" });
    expect(body).toMatchObject({ soak_s: "a minute", quorum_share: "half", take_at_ms: "" });
  });

  it("gets its mistakes at its fields", () => {
    expect([planPlace("body.batches[0].share"), planPlace("soak_s")]).toEqual(["batches[0].share", "soak_s"]);
  });
});

it("scenes have the numbers of their list, and a filling each of eight", () => {
  const numbers = sceneNumbers([..."abcdefghi"].map((id) => ({ id })));
  expect([numberOf(numbers, "b"), numberOf(numbers, null), numberOf(numbers, "gone")]).toEqual(["02", "–", "?"]);
  expect([hatchOf(numbers, "a"), hatchOf(numbers, "i"), hatchOf(numbers, null)]).toEqual(["hatch-0", "hatch-0", "hatch-none"]);
});
