/** A cue list while it is being made: the contract's shape, with whatever stands in its fields just then. */

import { idFor, type Fields } from "./draft_scene";

export interface DraftCue extends Fields {
  id: string;
  title?: string | null;
  /** Null is darkness. */
  scene?: string | null;
  fade_ms?: number;
  follow_on_s?: number | string | null;
  flash_confirmed_by?: string | null;
}

export interface DraftCueList extends Fields {
  id: string;
  title: string;
  cues: readonly DraftCue[];
}

/** A cue of the scene, under an id that the list does not have. */
export function newCue(scene: string | null, taken: readonly string[]): DraftCue {
  return { id: idFor("cue", taken), title: null, scene, fade_ms: 3_000, follow_on_s: null };
}

export function newCueList(scene: string | null, taken: readonly string[]): DraftCueList {
  return { id: idFor("Cue list", taken), title: "Cue list", cues: [newCue(scene, [])] };
}

/** What is left out when it says nothing, as the hub leaves it out. */
export function plainCueList({ id, title, cues }: DraftCueList): Fields {
  const plain = (cue: DraftCue): Fields => Object.fromEntries(Object.entries(cue).filter(([name, value]) => name === "scene" || value != null));
  return { id, title, cues: cues.map(plain) };
}
