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

/** Rollouts, the newest first. The answer to a take may come after the events that tell how it went on: it changes nothing. */
export function withRollout(rollouts: readonly Rollout[], rollout: Rollout): readonly Rollout[] {
  const known = rollouts.find(({ revision }) => revision === rollout.revision);
  if (known && isBefore(rollout, known)) return rollouts;
  const others = rollouts.filter((each) => each !== known);
  return [...others, rollout].sort((a, b) => b.revision - a.revision).slice(0, ROLLOUTS_HELD);
}

function isBefore(rollout: Rollout, known: Rollout): boolean {
  return rollout.state === "staging" && (known.state !== "staging" || known.nodes_staged > rollout.nodes_staged);
}
