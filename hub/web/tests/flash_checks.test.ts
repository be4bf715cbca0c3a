import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Client } from "../src/api/client";
import type { FlashReports } from "../src/api/contract";
import { FlashChecks } from "../src/state/flash_checks.svelte";

const known = (verdicts: Record<string, string>, unchecked: string[] = []): FlashReports =>
  ({ reports: Object.entries(verdicts).map(([scene, verdict]) => ({ scene, verdict })), unchecked }) as FlashReports;

/** Gives its answers in turn; an error where there is none. */
function hubWith(...answers: FlashReports[]): { client: Client; asked: () => number } {
  let asked = 0;
  const get = (): Promise<FlashReports> => {
    const answer = answers[asked++];
    return answer ? Promise.resolve(answer) : Promise.reject(new Error("no answer"));
  };
  return { client: { get } as unknown as Client, asked: () => asked };
}

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

describe("the flash checks of a venue's scenes", () => {
  it("are read until every scene is checked", async () => {
    const { client, asked } = hubWith(known({ a: "fails" }, ["b"]), known({ a: "fails", b: "passes" }));
    const checks = new FlashChecks(client, "/venues/v");
    await checks.read();
    expect([checks.fails("a"), checks.of("b")]).toEqual([true, null]);
    await vi.advanceTimersByTimeAsync(2_000);
    expect(checks.of("b")?.verdict).toBe("passes");
    await vi.advanceTimersByTimeAsync(600_000);
    expect(asked()).toBe(2);
  });

  it("are asked for less and less often while there is no answer, and no more once stopped", async () => {
    const { client, asked } = hubWith();
    const checks = new FlashChecks(client, "/venues/v");
    await checks.read();
    await vi.advanceTimersByTimeAsync(60_000);
    expect(asked()).toBeGreaterThan(4);
    expect(asked()).toBeLessThan(9);
    checks.stop();
    const before = asked();
    await vi.advanceTimersByTimeAsync(600_000);
    expect(asked()).toBe(before);
  });

  it("read anew pass over an answer that was asked for before", async () => {
    const late = known({ a: "fails" });
    const { client } = hubWith(late, known({ a: "passes" }));
    const checks = new FlashChecks(client, "/venues/v");
    await Promise.all([checks.read(), checks.read()]);
    expect(checks.fails("a")).toBe(false);
  });
});
