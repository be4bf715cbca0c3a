/** Where on the venue a finding is: its node, or the nodes that are folded into it. */

import type { Finding } from "../api/contract";

/** Nodes of a finding and of what is folded into it; `open` holds those. */
export function nodesOf(finding: Finding, open: readonly Finding[]): readonly string[] {
  if (finding.node !== null) return [finding.node];
  const folded = open.flatMap(({ folded_into, node }) => (folded_into === finding.id && node !== null ? [node] : []));
  return [...new Set(folded)].sort((a, b) => a.localeCompare(b, undefined, { numeric: true }));
}

/** What it is about, in a few words. */
export function subjectOf({ cause, supply, node }: Finding): string {
  if (cause) return cause.kind === "venue" ? "all the venue" : `${cause.kind} ${cause.name}`;
  if (supply !== null) return `supply ${supply}`;
  return node ?? "the venue";
}
