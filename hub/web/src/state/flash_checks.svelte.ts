/** What the hub's flash check says of the venue's scenes, asked for one after another: a check may take seconds. */

import { SvelteMap } from "svelte/reactivity";
import type { Client } from "../api/client";
import type { FlashReport } from "../api/contract";

export class FlashChecks {
  private readonly reports = new SvelteMap<string, FlashReport>();
  private round = 0;

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  of(scene: string): FlashReport | null {
    return this.reports.get(scene) ?? null;
  }

  fails(scene: string): boolean {
    return this.of(scene)?.verdict === "fails";
  }

  /** Asks for all of them; what is known already stays until its answer comes. A later round takes over from this one. */
  async check(scenes: readonly string[]): Promise<void> {
    const round = ++this.round;
    for (const known of this.reports.keys()) if (!scenes.includes(known)) this.reports.delete(known);
    for (const scene of scenes) {
      try {
        const report = await this.client.get<FlashReport>(`${this.root}/scenes/${encodeURIComponent(scene)}/flash`);
        if (round !== this.round) return;
        this.reports.set(scene, report);
      } catch {
        // The hub checks again when the scene is taken, and asks for the name then.
        if (round !== this.round) return;
        this.reports.delete(scene);
      }
    }
  }
}
