/** What an event or an answer changes in the lists that the page holds: a new list each time, nothing changed in place. */

import type { Finding, NodeState, Rollout } from "../api/contract";

const ROLLOUTS_HELD = 20;

export function withNodes(nodes: readonly NodeState[], heard: ReadonlyMap<string, NodeState>): readonly NodeState[] {
  const known = new Set(nodes.map(({ node }) => node));
  const added = [...heard.values()].filter(({ node }) => !known.has(node));
  return [...nodes.map((node) => heard.get(node.node) ?? node), ...added];
}

/** Open findings, the oldest first, so that a note keeps its number while it lasts. */
export function withFinding(open: readonly Finding[], finding: Finding): readonly Finding[] {
  const others = open.filter((known) => known.id !== finding.id);
  return finding.ended_at_ms === null ? oldestFirst([...others, finding]) : others;
}

export function oldestFirst(findings: readonly Finding[]): readonly Finding[] {
  return findings.toSorted((a, b) => a.started_at_ms - b.started_at_ms || a.id.localeCompare(b.id));
}

/** Rollouts, the newest first. One that waited may have another revision when its turn comes. */
export function withRollout(rollouts: readonly Rollout[], rollout: Rollout): readonly Rollout[] {
  const others = rollouts.filter(({ revision }) => revision !== rollout.revision && revision !== rollout.planned_as);
  return [...others, rollout].sort((a, b) => b.revision - a.revision).slice(0, ROLLOUTS_HELD);
}

/** An answer may come after the events that tell how its rollout went on: then it changes nothing. */
export function withAnswer(rollouts: readonly Rollout[], rollout: Rollout): readonly Rollout[] {
  const told = rollouts.some(({ revision, planned_as }) => revision === rollout.revision || planned_as === rollout.revision);
  return told ? rollouts : withRollout(rollouts, rollout);
}
