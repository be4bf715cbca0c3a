/** The controls that are one key away, and which key it is. Pure. */

export type Control = "go" | "back" | "blackout" | "work-light";

export interface Key {
  control: Control;
  name: string;
  /** A letter of its name, which is underlined there. */
  key: string;
}

export const CONTROL_KEYS: readonly Key[] = [
  { control: "go", name: "Go", key: "g" },
  { control: "back", name: "Back", key: "b" },
  { control: "blackout", name: "Blackout", key: "k" },
  { control: "work-light", name: "Work light", key: "w" },
];

export type KeyPress = Pick<KeyboardEvent, "key" | "code" | "repeat" | "ctrlKey" | "metaKey" | "altKey" | "isComposing" | "defaultPrevented">;

/** The control that a key press asks for. A key held down asks once; a letter that is being typed asks for nothing. */
export function controlOf(press: KeyPress, typing: boolean): Control | null {
  const withOthers = press.ctrlKey || press.metaKey || press.altKey;
  if (typing || press.repeat || withOthers || press.isComposing || press.defaultPrevented) return null;
  // Where the layout has no Latin letters, the place of the key counts.
  const latin = /^[\x20-\x7e]$/.test(press.key);
  const letter = latin ? press.key.toLowerCase() : press.code.replace(/^Key/, "").toLowerCase();
  return CONTROL_KEYS.find(({ key }) => key === letter)?.control ?? null;
}

/** Whether keys pressed there are text, or choose from a list by its first letters. */
export function takesText(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false;
  if (target instanceof HTMLInputElement) return !NOT_TYPED.includes(target.type);
  return target.isContentEditable || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

const NOT_TYPED: readonly string[] = ["button", "checkbox", "radio", "range", "file", "submit", "reset"];
