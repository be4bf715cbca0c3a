import { describe, expect, it } from "vitest";
import { ServerEventReader, type ServerEvent } from "../src/api/server_events";

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

function readAll(...chunks: (string | Uint8Array)[]): ServerEvent[] {
  const reader = new ServerEventReader();
  return chunks.flatMap((chunk) => reader.push(typeof chunk === "string" ? bytes(chunk) : chunk));
}

describe("the server event reader", () => {
  it("reads a named event", () => {
    expect(readAll('event: node\ndata: {"node":"bay-01"}\n\n')).toEqual([{ event: "node", data: '{"node":"bay-01"}' }]);
  });

  it("calls an event without a name a message, and joins its lines of data", () => {
    expect(readAll("data: one\ndata: two\n\n")).toEqual([{ event: "message", data: "one\ntwo" }]);
  });

  it("passes over comments, unknown fields and events without data", () => {
    expect(readAll(": still here\n\nid: 4\nretry: 10\nfoo\nevent: node\n\ndata: x\n\n")).toEqual([
      { event: "message", data: "x" },
    ]);
  });

  it.each(["\n", "\r", "\r\n"])("reads lines that end with %j, split anywhere", (end) => {
    const text = bytes(`event: finding${end}data: Ä1${end}${end}data: second${end}${end}`);
    for (let at = 0; at <= text.length; at++) {
      expect(readAll(text.slice(0, at), text.slice(at))).toEqual([
        { event: "finding", data: "Ä1" },
        { event: "message", data: "second" },
      ]);
    }
  });

  it("keeps what is not finished", () => {
    expect(readAll("data: half")).toEqual([]);
  });

  it("takes one space after the colon and no more", () => {
    expect(readAll("data:  x\n\ndata:y\n\n").map(({ data }) => data)).toEqual([" x", "y"]);
  });

  it("refuses an event larger than a mebibyte, in one line or in many", () => {
    expect(() => readAll(`data: ${"x".repeat(1 << 20)}`)).toThrow(/larger/);
    expect(() => readAll(...Array.from({ length: 20 }, () => `data: ${"x".repeat(1 << 16)}\n`))).toThrow(/larger/);
  });
});
