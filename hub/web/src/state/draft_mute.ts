/** Planned work while it is being written down: whose findings are told to nobody, from when until when, and why. Pure. */

import type { Finding, MuteRequest } from "../api/contract";
import { nodesOf } from "./finding_nodes";

export interface DraftMute {
  nodes: readonly string[];
  zones: readonly string[];
  kinds: readonly string[];
  /** As fields for local date and time have them. */
  from: string;
  until: string;
  reason: string;
}

const TWO_HOURS_MS = 7_200_000;

/** From now for two hours: of the finding's nodes and zone, or of all the venue. */
export function newMute(nowMs: number, finding: Finding | null, open: readonly Finding[]): DraftMute {
  const zone = finding?.cause?.kind === "zone" ? [finding.cause.name] : [];
  const nodes = finding && zone.length === 0 && finding.cause?.kind !== "venue" ? nodesOf(finding, open) : [];
  return { nodes, zones: zone, kinds: [], from: localMinute(nowMs), until: localMinute(nowMs + TWO_HOURS_MS), reason: "" };
}

/** What is sent. A time that is none is left for the hub to refuse. */
export function muteBody({ nodes, zones, kinds, from, until, reason }: DraftMute): MuteRequest {
  return { nodes, zones, kinds, from_ms: msOf(from), until_ms: msOf(until), reason: reason.trim() } as MuteRequest;
}

/** As a field for local date and time has it. */
export function localMinute(ms: number): string {
  return new Date(ms - new Date(ms).getTimezoneOffset() * 60_000).toISOString().slice(0, 16);
}

function msOf(local: string): number | string {
  const ms = Date.parse(local);
  return Number.isNaN(ms) ? local : ms;
}
