/** Where on a scene's sheet a mistake belongs that the hub found in it. */

import type { Mistake } from "../api/contract";

export interface PlacedMistake extends Mistake {
  /** A field of the scene such as `layers[0].pattern.colour`; empty for the scene as a whole. */
  place: string;
}

/** A mistake's field names the scene's place in what was sent, and tags of patterns and colours; places do not. */
export function placeOf(field: string, scene: unknown): string {
  const parts = field
    .replace(/^body\b\.?/, "")
    .replace(/^scenes\[\d+\]\.?/, "")
    .match(/[^.[\]]+/g);
  let place = "";
  let value: unknown = scene;
  for (const part of parts ?? []) {
    if (Array.isArray(value)) {
      place += `[${part}]`;
      value = value[Number(part)] as unknown;
      continue;
    }
    if (typeof value !== "object" || value === null) break;
    const fields = value as Record<string, unknown>;
    if (!(part in fields) && fields["pattern"] === part) continue;
    place += place ? `.${part}` : part;
    value = fields[part];
  }
  return place;
}

export function placed(mistakes: readonly Mistake[], scene: unknown): PlacedMistake[] {
  return mistakes.map((mistake) => ({ ...mistake, place: placeOf(mistake.field, scene) }));
}

/** Those at the place or beneath it. */
export function within(mistakes: readonly PlacedMistake[], place: string): PlacedMistake[] {
  return mistakes.filter((each) => each.place === place || each.place.startsWith(`${place}.`) || each.place.startsWith(`${place}[`));
}

/** Those that lie beneath none of the places. */
export function outside(mistakes: readonly PlacedMistake[], places: readonly string[]): PlacedMistake[] {
  const inside = new Set(places.flatMap((place) => within(mistakes, place)));
  return mistakes.filter((each) => !inside.has(each));
}
