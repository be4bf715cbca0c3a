/** A rollout while it is being planned: as its form has it, and as the hub is asked for it. Pure. */

export type Starts = "as soon as it is staged" | "when a person says go" | "at a time";
export const STARTS: readonly Starts[] = ["as soon as it is staged", "when a person says go", "at a time"];

/** What stands in a field of figures: what is no number is left for the hub to refuse. */
export type Figure = number | string | null;

export interface DraftBatch {
  by: "nodes" | "percent";
  size: Figure;
}

export interface DraftPlan {
  scene: string | null;
  fade_ms: number;
  zones: readonly string[];
  tags: readonly string[];
  nodes: readonly string[];
  batches: readonly DraftBatch[];
  soak_s: Figure;
  no_new_findings: boolean;
  limiter_percent: Figure;
  frame_rate_percent: Figure;
  quorum_percent: Figure;
  failures_percent: Figure;
  on_failure: "revert" | "hold";
  starts: Starts;
  /** As a field for local date and time has it. */
  take_at: string;
  queue: boolean;
  flash_confirmed_by: string;
}

export function newPlan(scene: string | null): DraftPlan {
  return {
    scene,
    fade_ms: 3_000,
    zones: [],
    tags: [],
    nodes: [],
    batches: [
      { by: "nodes", size: 1 },
      { by: "percent", size: 25 },
    ],
    soak_s: 60,
    no_new_findings: true,
    limiter_percent: null,
    frame_rate_percent: 90,
    quorum_percent: 50,
    failures_percent: 0,
    on_failure: "revert",
    starts: "as soon as it is staged",
    take_at: "",
    queue: false,
    flash_confirmed_by: "",
  };
}

const shareOf = (percent: Figure): Figure => (typeof percent === "number" ? percent / 100 : percent);

/** The body of a call. Gates are sent only where there is time to watch. */
export function planBody(plan: DraftPlan): Record<string, unknown> {
  const { scene, fade_ms, zones, tags, nodes, soak_s, on_failure, queue } = plan;
  const body: Record<string, unknown> = {
    scene,
    fade_ms,
    select: { nodes, zones, tags },
    batches: plan.batches.map(({ by, size }) => (by === "nodes" ? { nodes: size } : { share: shareOf(size) })),
    soak_s: soak_s ?? 0,
    quorum_share: shareOf(plan.quorum_percent) ?? 0,
    failures_share: shareOf(plan.failures_percent) ?? 0,
    on_failure,
    queue,
  };
  if (soak_s) {
    body["gates"] = {
      no_new_findings: plan.no_new_findings,
      limiter_scale_at_least: shareOf(plan.limiter_percent),
      frame_rate_share_at_least: shareOf(plan.frame_rate_percent),
    };
  }
  if (plan.starts === "when a person says go") body["wait_for_go"] = true;
  if (plan.starts === "at a time") body["take_at_ms"] = Number.isNaN(Date.parse(plan.take_at)) ? plan.take_at : Date.parse(plan.take_at);
  if (plan.flash_confirmed_by.trim()) body["flash_confirmed_by"] = plan.flash_confirmed_by.trim();
  return body;
}

/** Where in the form a mistake belongs that the hub found in the body. */
export function planPlace(field: string): string {
  return field.replace(/^body\b\.?/, "");
}
