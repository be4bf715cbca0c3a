/** What a rollout is waiting for, and what a person may do about it. Pure. */

import type { Rollout } from "../api/contract";

export type Step = "approve" | "go" | "pause" | "resume" | "halt" | "revert";

const UNDER_WAY: readonly Rollout["state"][] = ["staging", "staged", "soaking"];

export function isUnderWay({ state }: Pick<Rollout, "state">): boolean {
  return UNDER_WAY.includes(state);
}

/** What may be asked of it now, what goes on first. */
export function stepsOf(rollout: Rollout): readonly Step[] {
  const { state, paused, waits_for } = rollout;
  const changed = rollout.batches.some(({ take_at_ms }) => take_at_ms !== null);
  if (state === "planned") return waits_for === "approval" ? ["approve", "halt"] : ["halt"];
  if (state === "halted") return changed ? ["revert"] : [];
  if (!isUnderWay(rollout)) return [];
  const onward: Step[] = paused ? ["resume"] : waits_for === "go" ? ["go", "pause"] : ["pause"];
  return [...onward, "halt", ...(changed ? (["revert"] as const) : [])];
}

/** "1 min 20 s", or nothing where there is none left to tell. */
export function timeLeft(untilMs: number | null, nowMs: number): string {
  if (untilMs === null) return "";
  const whole = Math.max(0, Math.ceil((untilMs - nowMs) / 1000));
  const [hours, minutes, seconds] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  if (hours) return `${hours} h ${minutes} min`;
  return minutes ? `${minutes} min ${seconds} s` : `${seconds} s`;
}
