/** What of a venue's audit concerns one supply. */

import type { Audit, NodeState, RunAudit, WiringNote } from "../api/contract";

/** Runs with a feed from the supply, in the venue's order. */
export function runsOn(audit: Audit, supply: string): RunAudit[] {
  return audit.runs.filter((run) => run.feeds.some((feed) => feed.supply === supply));
}

export function notesOn(audit: Audit, supply: string, run: RunAudit): WiringNote[] {
  return audit.notes.filter(
    (note) => note.node === run.node && note.channel === run.channel && note.supplies.includes(supply),
  );
}

/** Amps that each node that is on draws from the supply, by its newest telemetry. */
export function drawnByNode(nodes: readonly NodeState[], supply: string): Map<string, number> {
  const drawn = new Map<string, number>();
  for (const node of nodes) {
    const reading = node.online ? node.supplies.find((each) => each.supply === supply) : undefined;
    if (reading) drawn.set(node.node, reading.amps);
  }
  return drawn;
}
