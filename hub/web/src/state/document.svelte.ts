/** One document of the hub while it is being changed: as it is held there, and as it stands here, until it is saved. */

import type { Client, Item } from "../api/client";
import { Asking } from "./asking.svelte";

export class Document<Draft, Answer = Draft> extends Asking {
  /** Replaced by each change, never changed in place. Null until it is read. */
  draft = $state.raw<Draft | null>(null);
  /** As the hub holds it; null for one that it does not hold yet, or that is not read yet. */
  private held = $state.raw<Item<Draft> | null>(null);
  /** Saved here, and not changed since. */
  kept = $state(false);
  saved = $derived(this.held?.value ?? null);
  changed = $derived(this.draft !== null && JSON.stringify(this.draft) !== JSON.stringify(this.saved));

  /** `begun` is what a new one begins with, whose address may still change; `body` is what is sent of a draft, which is made of what the hub answers. */
  constructor(
    private readonly client: Client,
    public address: string,
    begun: Draft | null = null,
    private readonly body: (draft: Draft) => unknown = (draft) => draft,
    private readonly draftOf: (answer: Answer) => Draft = (answer) => answer as unknown as Draft,
  ) {
    super();
    this.draft = begun;
  }

  /** Anew, whatever was changed. */
  read(): Promise<boolean> {
    return this.asking(async () => {
      this.take(await this.client.item<Answer>(this.address));
      this.kept = false;
    });
  }

  change(draft: Draft): void {
    this.draft = draft;
    this.kept = false;
    if (!this.overtaken) this.problem = null;
  }

  save(): Promise<boolean> {
    return this.asking(() => this.put(this.held?.etag ?? null));
  }

  /** Over what someone else saved meanwhile. */
  saveOver(): Promise<boolean> {
    return this.asking(async () => this.put((await this.client.item<Answer>(this.address)).etag));
  }

  remove(): Promise<boolean> {
    return this.asking(() => this.client.remove(this.address, this.held?.etag ?? "*"));
  }

  private async put(etag: string | null): Promise<void> {
    if (this.draft === null) return;
    this.take(await this.client.put<Answer>(this.address, this.body(this.draft), etag));
    this.kept = true;
  }

  private take({ value, etag }: Item<Answer>): void {
    this.held = { value: this.draftOf(value), etag };
    this.draft = this.held.value;
  }
}
