/** Scenes by the number that they have on the list, as drawings too small for titles name them. Pure. */

const HATCHES = 8;

export type SceneNumbers = ReadonlyMap<string, number>;

export function sceneNumbers(scenes: readonly { id: string }[]): SceneNumbers {
  return new Map(scenes.map(({ id }, place) => [id, place + 1]));
}

/** 04; a dash for darkness, a question mark for a scene that the list does not have. */
export function numberOf(numbers: SceneNumbers, scene: string | null): string {
  if (scene === null) return "–";
  const number = numbers.get(scene);
  return number === undefined ? "?" : String(number).padStart(2, "0");
}

/** The class of its filling. */
export function hatchOf(numbers: SceneNumbers, scene: string | null): string {
  const number = scene === null ? undefined : numbers.get(scene);
  return number === undefined ? "hatch-none" : `hatch-${(number - 1) % HATCHES}`;
}
