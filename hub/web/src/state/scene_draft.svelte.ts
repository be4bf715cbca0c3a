/** A scene on its sheet: as the hub holds it, and as it is being changed. Drafts outlive their sheets until saved. */

import type { Client, Item } from "../api/client";
import { Asking } from "./asking.svelte";
import { idFor, type DraftScene } from "./draft_scene";

export class SceneDraft extends Asking {
  scene = $state.raw<DraftScene>({ id: "", title: "", note: "", layers: [] });
  /** As the hub holds it; null for one that it does not hold yet, or that is not read yet. */
  saved = $state.raw<Item<DraftScene> | null>(null);
  /** What a new one began with. */
  private begun = $state.raw<DraftScene | null>(null);
  ready = $state(false);
  /** Saved here, and not changed since. */
  kept = $state(false);
  changed = $derived(this.ready && JSON.stringify(this.scene) !== JSON.stringify(this.saved?.value ?? this.begun));

  /** `address` of the venue's scenes; `begun` is what a new scene begins with. */
  constructor(
    private readonly client: Client,
    private readonly address: string,
    id: string | null,
    begun: DraftScene | null,
  ) {
    super();
    if (begun) {
      this.scene = this.begun = begun;
      this.ready = true;
    } else if (id !== null) void this.read(id);
  }

  /** Its name until it is saved under another. */
  get title(): string {
    return (this.saved?.value ?? this.begun ?? this.scene).title;
  }

  get isNew(): boolean {
    return this.ready && this.saved === null;
  }

  change(fields: Partial<DraftScene>): void {
    this.scene = { ...this.scene, ...fields };
    this.kept = false;
    if (!this.overtaken) this.problem = null;
  }

  /** A scene that the hub does not hold yet is named after its title. */
  rename(title: string, taken: readonly string[]): void {
    this.change(this.isNew ? { title, id: idFor(title, taken) } : { title });
  }

  /** Every layer's time runs at this share of what it did. */
  slow(factor: number): void {
    const paced = (pace: unknown): number => +((typeof pace === "number" ? pace : 1) * factor).toFixed(6);
    this.change({ layers: this.scene.layers.map((layer) => ({ ...layer, time_scale: paced(layer["time_scale"]) })) });
  }

  /** What the hub holds, in place of what was changed here. */
  startAgain(): Promise<boolean> {
    return this.read(this.scene.id);
  }

  async save(): Promise<boolean> {
    return this.asking(async () => {
      this.keep(await this.client.put<DraftScene>(this.path(this.scene.id), this.scene, this.saved?.etag ?? null));
    });
  }

  /** Over what someone else saved meanwhile. */
  async saveOver(): Promise<boolean> {
    return this.asking(async () => {
      const { etag } = await this.client.item<DraftScene>(this.path(this.scene.id));
      this.keep(await this.client.put<DraftScene>(this.path(this.scene.id), this.scene, etag));
    });
  }

  async remove(): Promise<boolean> {
    return this.asking(() => this.client.remove(this.path(this.scene.id), this.saved?.etag ?? "*"));
  }

  private read(id: string): Promise<boolean> {
    return this.asking(async () => {
      this.saved = await this.client.item<DraftScene>(this.path(id));
      this.scene = this.saved.value;
      this.ready = true;
    });
  }

  private keep(saved: Item<DraftScene>): void {
    [this.saved, this.scene, this.kept] = [saved, saved.value, true];
  }

  private path(id: string): string {
    return `${this.address}/${encodeURIComponent(id)}`;
  }
}
