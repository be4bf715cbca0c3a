/** What the hub's flash check says of the venue's scenes, asked for one after another: a check may take seconds. */

import { SvelteMap } from "svelte/reactivity";
import type { Client } from "../api/client";
import type { FlashReport, Scene } from "../api/contract";

export class FlashChecks {
  private readonly reports = new SvelteMap<string, FlashReport>();
  /** The scenes of the last round, as they were then. */
  private known = new Map<string, string>();
  private round = new AbortController();

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

  /** Asks for all of them: first those that are new or changed, then those without an answer. A later round ends this one. */
  async check(scenes: readonly Scene[]): Promise<void> {
    this.round.abort();
    const { signal } = (this.round = new AbortController());
    const before = this.known;
    this.known = new Map(scenes.map((scene) => [scene.id, JSON.stringify(scene)]));
    for (const id of this.reports.keys()) if (this.known.get(id) !== before.get(id)) this.reports.delete(id);
    const ids = [...this.known.keys()];
    const changed = ids.filter((id) => this.known.get(id) !== before.get(id));
    const unanswered = ids.filter((id) => !this.reports.has(id));
    for (const id of new Set([...changed, ...unanswered, ...ids])) {
      const report = await this.report(id, signal);
      if (signal.aborted) return;
      if (report) this.reports.set(id, report);
      else this.reports.delete(id);
    }
  }

  /** Null where there is none to be had: the hub checks again when the scene is taken, and asks for the name then. */
  private async report(id: string, signal: AbortSignal): Promise<FlashReport | null> {
    try {
      return await this.client.get<FlashReport>(`${this.root}/scenes/${encodeURIComponent(id)}/flash`, signal);
    } catch {
      return null;
    }
  }
}
