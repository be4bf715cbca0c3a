import { describe, expect, it } from "vitest";
import type { Client } from "../src/api/client";
import type { FlashReport, Scene } from "../src/api/contract";
import { FlashChecks } from "../src/state/flash_checks.svelte";

const scene = (id: string, title = id): Scene => ({ id, title, note: "", layers: [] });

/** Answers when it is told to, in the order in which it was asked. */
class Hub {
  readonly asked: string[] = [];
  private readonly waiting: ((report: FlashReport) => void)[] = [];
  readonly client = {
    get: (path: string) => {
      this.asked.push(path.split("/").at(-2)!);
      return new Promise((resolve) => this.waiting.push(resolve));
    },
  } as unknown as Client;

  async answer(verdict: string): Promise<void> {
    this.waiting.shift()!({ verdict } as FlashReport);
    await new Promise((resolve) => setTimeout(resolve));
  }
}

describe("the flash checks of a venue's scenes", () => {
  it("are asked for one after another", async () => {
    const hub = new Hub();
    const checks = new FlashChecks(hub.client, "/venues/v");
    void checks.check([scene("a"), scene("b")]);
    expect(hub.asked).toEqual(["a"]);
    await hub.answer("fails");
    expect([checks.fails("a"), checks.of("b"), hub.asked]).toEqual([true, null, ["a", "b"]]);
  });

  it("begin anew with what changed, then with what was never answered, and pass over answers that come late", async () => {
    const hub = new Hub();
    const checks = new FlashChecks(hub.client, "/venues/v");
    void checks.check([scene("a"), scene("b"), scene("c"), scene("gone")]);
    await hub.answer("fails");
    void checks.check([scene("a"), scene("b"), scene("c"), scene("d")]);
    expect(hub.asked).toEqual(["a", "b", "d"]);
    await hub.answer("fails");
    expect(checks.of("b")).toBeNull();
    for (let i = 0; i < 4; i++) await hub.answer("passes");
    expect(hub.asked).toEqual(["a", "b", "d", "b", "c", "a"]);
    expect([checks.fails("a"), checks.of("d")?.verdict]).toEqual([false, "passes"]);
  });

  it("of a scene that was changed are forgotten at once", async () => {
    const hub = new Hub();
    const checks = new FlashChecks(hub.client, "/venues/v");
    void checks.check([scene("a")]);
    await hub.answer("fails");
    void checks.check([scene("a", "Slower")]);
    expect(checks.of("a")).toBeNull();
  });
});
