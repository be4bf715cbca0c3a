import { describe, expect, it } from "vitest";
import type { Destination, Finding, NodeState, QuantitySeries } from "../src/api/contract";
import { duration, lifeOf } from "../src/format";
import { addBody, changeBody, draftOf, newDestination, ofKind, routeText, type DraftDestination } from "../src/state/draft_destination";
import { localMinute, muteBody, newMute } from "../src/state/draft_mute";
import { figuresOf } from "../src/state/evidence";
import { figuresOfNode } from "../src/state/node_figures";
import { inOrder, readingOf } from "../src/state/quantities";

const finding = (fields: Partial<Finding>): Finding =>
  ({ id: "1", node: null, supply: null, cause: null, folded_into: null, state: "open", ended_at_ms: null, acknowledged_by: null, ...fields }) as Finding;

describe("what a finding rests on", () => {
  it("is written with its units, and left out where it is not known", () => {
    const evidence = { temperature_c: 84.25, late_share: 0.051, frames: 1200, offset_ms: -3.5, told_by: "last will", died_at_ms: null, volts: 4.5 };
    expect(figuresOf(finding({ evidence }))).toEqual([
      { name: "temperature", value: "84.3 °C" },
      { name: "late", value: "5.1 %" },
      { name: "frames", value: "1200" },
      { name: "offset", value: "−3.5 ms" },
      { name: "told by", value: "last will" },
      { name: "volts", value: "4.5" },
    ]);
  });

  it("goes with where it is in its life", () => {
    expect([finding({}), finding({ state: "acknowledged", acknowledged_by: "Ada" }), finding({ state: "acknowledged" }), finding({ state: "muted" })].map(lifeOf)).toEqual([
      "open",
      "acknowledged by Ada",
      "acknowledged",
      "muted",
    ]);
  });
});

describe("planned work", () => {
  const nowMs = Date.parse("2026-11-27T10:00:00Z");

  it("begins with the nodes of a finding, its zone, or all the venue", () => {
    const parent = finding({ id: "9", cause: { kind: "supply", name: "a" } });
    const open = [parent, finding({ node: "x", folded_into: "9" }), finding({ node: "y", folded_into: "9" })];
    expect(newMute(nowMs, parent, open).nodes).toEqual(["x", "y"]);
    expect(newMute(nowMs, finding({ cause: { kind: "zone", name: "bar" } }), open)).toMatchObject({ nodes: [], zones: ["bar"] });
    expect(newMute(nowMs, null, open)).toMatchObject({ nodes: [], zones: [], kinds: [] });
  });

  it("is sent as times of the hub; what is no time is left for the hub to refuse", () => {
    const draft = { ...newMute(nowMs, null, []), reason: " new fuse " };
    expect(muteBody(draft)).toMatchObject({ from_ms: nowMs, until_ms: nowMs + 7_200_000, reason: "new fuse" });
    expect(muteBody({ ...draft, until: "" }).until_ms).toBe("");
    expect(Date.parse(localMinute(nowMs))).toBe(nowMs);
  });
});

describe("a destination", () => {
  const draft: DraftDestination = { ...newDestination(["destination"]), title: " Desk ", url: " https://x.example.org " };

  it("of another kind tells what that kind can", () => {
    expect(ofKind(draft, "heartbeat")).toMatchObject({ routes: [], digest_at: null });
    expect(ofKind(ofKind(draft, "heartbeat"), "webhook").routes).toHaveLength(1);
  });

  it("is sent whole when it is new, and keeps its URL unless another is written", () => {
    expect(addBody(draft)).toMatchObject({ id: "destination-2", title: "Desk", kind: "apprise", url: "https://x.example.org" });
    const held = draftOf({ id: "a", title: "A", kind: "webhook", address: "https://x/…", routes: [], digest_at: "07:30" } as unknown as Destination);
    expect(changeBody(held)).toEqual({ title: "A", url: null, routes: [], digest_at: "07:30" });
  });

  it("says in words what it is told of", () => {
    const route = draft.routes[0]!;
    expect(routeText(route)).toBe("warnings and alarms; at any hour");
    const hours = { weekdays: [], begins: "08:00", ends: "18:00", outside: "digest" as const };
    expect(routeText({ severity_at_least: "alarm", zones: ["bar", "front"], tells: ["opened"], hours })).toBe(
      "alarms only, zones bar, front, not their end; 08:00 to 18:00, else the digest has it",
    );
  });
});

describe("figures of a node", () => {
  it("are those that it tells, with what needs attention marked", () => {
    const node = { heard_at_ms: null, uptime_s: 93_784, clock_source: "hub", board: { starts: 3, start_cause: "power", errors: 2, under_voltage: true, memory_free_share: 0.5 } };
    const groups = figuresOfNode(node as unknown as NodeState);
    expect(groups.map(({ title }) => title)).toEqual(["Board", "Agent", "Clock"]);
    expect(groups.flatMap(({ figures }) => figures.filter(({ bad }) => bad).map(({ name }) => name))).toEqual(["Its own supply too low", "Errors since its start"]);
    expect(groups[1]!.figures[0]).toEqual({ name: "Running for", value: "1 d 2 h", bad: false });
  });

  it("over time are read with their lowest and highest where those differ", () => {
    const amps = { quantity: "amps", low: [1, null, 1.2], mean: [1.5, null, 1.2], high: [2, null, 1.2] } as unknown as QuantitySeries;
    expect([0, 1, 2, 9].map((point) => readingOf(amps, point))).toEqual(["1.50 A, 1.00 A to 2.00 A", "not told", "1.20 A", "not told"]);
    expect(inOrder([{ ...amps, quantity: "signal" }, amps]).map(({ quantity }) => quantity)).toEqual(["amps", "signal"]);
  });

  it("last so long", () => {
    expect([0.2, 40, 61, 3_600, 3_700, 86_400, 200_000].map(duration)).toEqual(["0 s", "40 s", "1 min", "1 h", "1 h 1 min", "1 d", "2 d 7 h"]);
  });
});
