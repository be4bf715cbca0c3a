/** What the hub answers when it will not do something (RFC 9457), or that it could not be reached. */

export interface Fault {
  field: string;
  reason: string;
  remedy: string;
}

export class Problem extends Error {
  constructor(
    readonly status: number,
    readonly title: string,
    readonly detail: string,
    readonly faults: readonly Fault[] = [],
  ) {
    super(detail ? `${title}: ${detail}` : title);
    this.name = "Problem";
  }

  get unauthorised(): boolean {
    return this.status === 401;
  }
}

const text = (value: unknown): string => (typeof value === "string" ? value : "");

export function problemFrom(status: number, body: unknown): Problem {
  const given = (typeof body === "object" && body !== null ? body : {}) as Record<string, unknown>;
  const mistakes = Array.isArray(given["mistakes"]) ? (given["mistakes"] as unknown[]) : [];
  const faults = mistakes
    .filter((error): error is Record<string, unknown> => typeof error === "object" && error !== null)
    .map((error) => ({ field: text(error["field"]), reason: text(error["reason"]), remedy: text(error["remedy"]) }));
  return new Problem(status, text(given["title"]) || `The hub answered ${status}`, text(given["detail"]), faults);
}

export function asProblem(error: unknown): Problem {
  if (error instanceof Problem) return error;
  return new Problem(0, "The hub cannot be reached", "Is it running, and is this machine on its network?");
}
