/** A rollout being planned: its form, what it would change on each node, and the mistakes that the hub finds in it. */

import type { Client } from "../api/client";
import type { DryRun, Mistake, PlannedNode, Rollout } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";
import type { PlacedMistake } from "./mistakes";
import { newPlan, planBody, planPlace, type DraftPlan } from "./rollout_plan";

export class RolloutDesk {
  plan = $state.raw<DraftPlan>(newPlan(null));
  dryRun = $state.raw<DryRun | null>(null);
  problem = $state.raw<Problem | null>(null);
  busy = $state<"dry run" | "plan" | null>(null);
  tags = $state.raw<readonly string[]>([]);
  mistakes = $derived<PlacedMistake[]>((this.problem?.mistakes ?? []).map((mistake: Mistake) => ({ ...mistake, place: planPlace(mistake.field) })));

  /** Whether anything stands in the form yet. */
  begun = $state(false);

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  async readTags(): Promise<void> {
    try {
      const nodes = await this.client.all<PlannedNode>(`${this.root}/nodes?limit=500`);
      this.tags = [...new Set(nodes.flatMap(({ tags }) => tags ?? []))].sort();
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  /** What was reckoned for another plan no longer counts. */
  change(fields: Partial<DraftPlan>): void {
    this.begun = true;
    this.plan = { ...this.plan, ...fields };
    this.dryRun = null;
    this.problem = null;
  }

  async reckon(): Promise<void> {
    await this.asking("dry run", async () => {
      this.dryRun = await this.client.post<DryRun>(`${this.root}/rollouts/dry-run`, planBody(this.plan));
    });
  }

  /** Null where the hub would not. */
  async send(): Promise<Rollout | null> {
    let planned: Rollout | null = null;
    await this.asking("plan", async () => {
      planned = await this.client.post<Rollout>(`${this.root}/rollouts`, planBody(this.plan));
    });
    return planned;
  }

  private async asking(what: "dry run" | "plan", work: () => Promise<void>): Promise<void> {
    if (this.busy) return;
    this.busy = what;
    this.problem = null;
    try {
      await work();
    } catch (error) {
      this.problem = asProblem(error);
    }
    this.busy = null;
  }
}
