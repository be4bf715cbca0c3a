/** Where a node stands, in one word, from what it says of itself. */

import type { NodeState } from "../api/contract";

export type Standing = "silent" | "refuses" | "behind" | "staged" | "in step";

const ORDER: readonly Standing[] = ["silent", "refuses", "behind", "staged", "in step"];

export function standingOf(node: NodeState): Standing {
  if (!node.online) return "silent";
  if (node.revision_showing === node.revision_desired) return "in step";
  if (node.refusal) return "refuses";
  return node.revision_staged === node.revision_desired ? "staged" : "behind";
}

/** What needs a person first, then by name. */
export function byStanding(nodes: readonly NodeState[]): NodeState[] {
  const rank = (node: NodeState): number => ORDER.indexOf(standingOf(node));
  return [...nodes].sort((a, b) => rank(a) - rank(b) || a.node.localeCompare(b.node, undefined, { numeric: true }));
}
