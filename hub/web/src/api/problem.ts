/** What the hub answers when it will not do something (RFC 9457), or that it could not be reached. */

import type { Mistake } from "./contract";

export class Problem extends Error {
  constructor(
    readonly status: number,
    readonly title: string,
    readonly detail: string,
    readonly mistakes: readonly Mistake[] = [],
  ) {
    super(detail ? `${title}: ${detail}` : title);
    this.name = "Problem";
  }

  get unauthorised(): boolean {
    return this.status === 401;
  }

  /** The hub understood and will not: asking again for the same cannot help. */
  get refused(): boolean {
    return this.status >= 400 && this.status < 500 && this.status !== 408 && this.status !== 429;
  }
}

const text = (value: unknown): string => (typeof value === "string" ? value : "");

export function problemFrom(status: number, body: unknown): Problem {
  const given = record(body) ?? {};
  const listed: unknown[] = Array.isArray(given["mistakes"]) ? given["mistakes"] : [];
  const mistakes = listed.map(record).filter((one) => one !== null).map(mistakeFrom);
  return new Problem(status, text(given["title"]) || `The hub answered ${status}`, text(given["detail"]), mistakes);
}

function mistakeFrom(given: Record<string, unknown>): Mistake {
  const line = typeof given["line"] === "number" ? given["line"] : null;
  return { field: text(given["field"]), reason: text(given["reason"]), remedy: text(given["remedy"]), line };
}

function record(value: unknown): Record<string, unknown> | null {
  return typeof value === "object" && value !== null ? (value as Record<string, unknown>) : null;
}

export function asProblem(error: unknown): Problem {
  if (error instanceof Problem) return error;
  return new Problem(0, "The hub cannot be reached", "Is it running, and is this machine on its network?");
}
