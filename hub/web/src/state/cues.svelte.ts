/** The venue's cue lists: which is in hand, which of its cues is on, and which comes next. */

import type { Client } from "../api/client";
import type { Cue, CueListView } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";

export class Cues {
  lists = $state.raw<readonly CueListView[]>([]);
  problem = $state.raw<Problem | null>(null);
  busy = $state(false);
  inHand = $derived(this.lists.find((each) => each.in_hand) ?? null);
  /** The list that `go` works on: the one in hand, or the first. */
  private readonly worked = $derived(this.inHand ?? this.lists[0] ?? null);
  private readonly next = $derived(this.worked?.next == null ? null : (this.worked.cue_list.cues[this.worked.next] ?? null));
  /** What `go` would do now. */
  goes = $derived(this.next ? `takes ${nameOf(this.next)}` : this.worked ? "its last cue is on" : "no cue list yet");
  /** What `back` would do, while a list is in hand. */
  goesBack = $derived.by(() => {
    const list = this.inHand;
    if (!list || list.on === null) return null;
    const cue = list.cue_list.cues[list.left ? list.on : list.on - 1];
    return cue ? `takes ${nameOf(cue)} again` : null;
  });

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  async read(): Promise<void> {
    try {
      this.lists = (await this.client.get<{ items: CueListView[] }>(`${this.root}/cue-lists`)).items;
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  start(list: string): Promise<void> {
    return this.ask(`${this.root}/cue-lists/${encodeURIComponent(list)}/start`);
  }

  stop(list: string): Promise<void> {
    return this.ask(`${this.root}/cue-lists/${encodeURIComponent(list)}/stop`);
  }

  private async ask(path: string): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.problem = null;
    try {
      await this.client.post<unknown>(path);
    } catch (error) {
      this.problem = asProblem(error);
    }
    this.busy = false;
    await this.read();
  }
}

export const nameOf = (cue: Cue): string => cue.title || cue.id;
