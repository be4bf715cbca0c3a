import { describe, expect, it } from "vitest";
import { CONTROL_KEYS, controlOf, type KeyPress } from "../src/state/control_keys";

const press = (key: string, more: Partial<KeyPress> = {}): KeyPress => ({
  key,
  code: `Key${key.toUpperCase()}`,
  repeat: false,
  ctrlKey: false,
  metaKey: false,
  altKey: false,
  isComposing: false,
  defaultPrevented: false,
  ...more,
});

describe("a key", () => {
  it.each([
    ["g", "go"],
    ["b", "back"],
    ["k", "blackout"],
    ["w", "work-light"],
    ["K", "blackout"],
  ])("%s asks for %s", (key, control) => {
    expect(controlOf(press(key), false)).toBe(control);
  });

  it("that is held down asks once", () => {
    expect(controlOf(press("g", { repeat: true }), false)).toBeNull();
  });

  it("that is typed into a field asks for nothing", () => {
    expect(controlOf(press("g"), true)).toBeNull();
  });

  it.each(["ctrlKey", "metaKey", "altKey", "isComposing", "defaultPrevented"] as const)("means something else with %s", (other) => {
    expect(controlOf(press("w", { [other]: true }), false)).toBeNull();
  });

  it("counts by its place where the layout has other letters", () => {
    expect(controlOf(press("п", { code: "KeyG" }), false)).toBe("go");
  });

  it("counts by its letter where the layout has ours elsewhere", () => {
    expect(controlOf(press("w", { code: "KeyZ" }), false)).toBe("work-light");
    expect(controlOf(press("z", { code: "KeyW" }), false)).toBeNull();
  });

  it("is a letter of the name that it works, so that it can be underlined there", () => {
    for (const { name, key } of CONTROL_KEYS) expect(name.toLowerCase()).toContain(key);
    expect(new Set(CONTROL_KEYS.map(({ key }) => key)).size).toBe(CONTROL_KEYS.length);
  });
});
