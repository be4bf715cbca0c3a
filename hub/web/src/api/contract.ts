/** The shapes of the hub's API that the page uses. */

import type { Fault } from "./problem";

export interface VenueName {
  id: string;
  title: string;
}

export type Point = [x: number, y: number];

export interface ElevationSpan {
  node: string;
  channel: number;
  first: number;
  pixels: number;
  points: Point[];
  offset: number;
}

export interface ElevationZone {
  id: string;
  title: string;
  spans: ElevationSpan[];
}

export interface Elevation {
  venue: string;
  title: string;
  pixels: number;
  zones: ElevationZone[];
  x_min_m: number;
  x_max_m: number;
  y_min_m: number;
  y_max_m: number;
}

export interface SupplyReading {
  supply: string;
  amps: number;
  highest_a: number;
  limiter_scale: number;
}

export interface NodeState {
  node: string;
  title: string | null;
  online: boolean;
  heard_at_ms: number | null;
  agent_version: string | null;
  revision_desired: number | null;
  revision_staged: number | null;
  revision_showing: number | null;
  scene: string | null;
  frame_rate_hz: number | null;
  frame_rate_target_hz: number | null;
  late_frames: number | null;
  temperature_c: number | null;
  clock_offset_ms: number | null;
  clock_dispersion_ms: number | null;
  supplies: SupplyReading[];
  refusal: Fault | null;
}

export interface SupplyAudit {
  supply: string;
  title: string | null;
  volts: number;
  rated_a: number;
  derating: number;
  budget_a: number;
  worst_case_a: number;
  scene_peak_a: number | null;
  typical_a: number;
  telemetry_highest_a: number | null;
  telemetry_now_a: number | null;
  pixels: number;
  nodes: string[];
  verdict: string;
  reason: string;
}

export interface Audit {
  supplies: SupplyAudit[];
}

export interface Finding {
  id: string;
  kind: string;
  node: string;
  supply: string | null;
  started_at_ms: number;
  ended_at_ms: number | null;
  evidence: Record<string, unknown>;
  message: string;
  next_check: string;
}

export interface SceneSheet {
  id: string;
  title: string;
  note: string;
  layers: { zone: string; pattern: { pattern: string } }[];
}

export interface Rollout {
  revision: number;
  /** Null is darkness. */
  scene: string | null;
  state: "staging" | "taken" | "halted";
  started_at_ms: number;
  take_at_ms: number | null;
  fade_ms: number;
  nodes_expected: number;
  nodes_staged: number;
  refusals: (Fault & { node: string })[];
  reason: string | null;
}
