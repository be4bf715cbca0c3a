/** What making scenes needs beside the venue's state: the scene language, all zones, and the drafts not yet saved. */

import { SvelteMap } from "svelte/reactivity";
import type { Client } from "../api/client";
import type { SceneLanguage, Zone } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";
import { idFor, plainest, statementOf, widest, type DraftScene } from "./draft_scene";
import { SceneDraft } from "./scene_draft.svelte";

const placeOf = (id: string): string => `scene ${id}`;

export class SceneDesk {
  language = $state.raw<SceneLanguage | null>(null);
  zones = $state.raw<readonly Zone[]>([]);
  problem = $state.raw<Problem | null>(null);
  /** By place: `scene evening`, `new-scene frost`. */
  private readonly drafts = new SvelteMap<string, SceneDraft>();

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  /** The scene language changes with the hub's version only; zones are read anew for each sheet. */
  async open(): Promise<void> {
    this.problem = null;
    try {
      const zones = this.client.all<Zone>(`${this.root}/zones?limit=500`);
      this.language ??= await this.client.get<SceneLanguage>("/patterns");
      this.zones = await zones;
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  draftOf(id: string): SceneDraft {
    return this.kept(placeOf(id), () => new SceneDraft(this.client, `${this.root}/scenes`, id, null));
  }

  /** A scene that copies another, or begins with one plain layer over the venue's first zone. */
  newDraft(of: string, scenes: readonly DraftScene[]): SceneDraft {
    return this.kept(`new-scene ${of}`, () => {
      const taken = scenes.map(({ id }) => id);
      const copied = scenes.find(({ id }) => id === of);
      const title = copied ? `${copied.title}, copy` : "New scene";
      const begun = { note: copied?.note ?? "", layers: copied?.layers ?? this.firstLayers() };
      return new SceneDraft(this.client, `${this.root}/scenes`, null, { ...begun, title, id: idFor(title, taken) });
    });
  }

  /** Whether the scene has changes that only this page knows of. */
  unsaved(id: string): boolean {
    return this.drafts.get(placeOf(id))?.changed ?? false;
  }

  get anyUnsaved(): boolean {
    return [...this.drafts.values()].some((draft) => draft.changed);
  }

  forget(draft: SceneDraft): void {
    for (const [place, each] of this.drafts) if (each === draft) this.drafts.delete(place);
  }

  /** A new scene was saved: it is one of the venue's now. */
  adopt(draft: SceneDraft): void {
    this.forget(draft);
    this.drafts.set(placeOf(draft.scene.id), draft);
  }

  private kept(place: string, make: () => SceneDraft): SceneDraft {
    const known = this.drafts.get(place);
    if (known) return known;
    const draft = make();
    this.drafts.set(place, draft);
    return draft;
  }

  private firstLayers(): DraftScene["layers"] {
    const pattern = plainest(this.language?.patterns ?? []);
    const zone = widest(this.zones);
    return pattern && zone ? [{ zone: zone.id, pattern: statementOf(pattern, null, []) }] : [];
  }
}
