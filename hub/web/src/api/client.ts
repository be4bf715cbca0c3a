/** Calls to the hub's API: JSON in and out, streams as bytes, every failure a Problem. */

import { nameOf } from "./download";
import { asProblem, Problem, problemFrom } from "./problem";

interface Page<Item> {
  items: Item[];
  next?: string | null;
}

export interface Item<Value> {
  value: Value;
  etag: string;
}

const PAGES_LIMIT = 200;

export class Client {
  constructor(private readonly token: string) {}

  async get<Answer>(path: string): Promise<Answer> {
    return (await this.call("GET", path)).json() as Promise<Answer>;
  }

  async post<Answer>(path: string, body?: unknown, signal?: AbortSignal): Promise<Answer> {
    return (await this.call("POST", path, { body, signal })).json() as Promise<Answer>;
  }

  /** An item with its ETag, which a change of it must name. */
  async item<Answer>(path: string): Promise<Item<Answer>> {
    return itemOf<Answer>(await this.call("GET", path));
  }

  /** Changes the item that has the ETag, or adds it where that is null; without one there is but one to change. */
  async put<Answer>(path: string, body: unknown, etag?: string | null): Promise<Item<Answer>> {
    return itemOf<Answer>(await this.call("PUT", path, { body, headers: precondition(etag) }));
  }

  async remove(path: string, etag?: string): Promise<void> {
    await this.call("DELETE", path, { headers: precondition(etag) });
  }

  /** A file with the name that the hub gives it. The token goes in the header, as ever, so no address carries it. */
  async file(path: string): Promise<File> {
    const response = await this.call("GET", path);
    const name = nameOf(response.headers.get("Content-Disposition")) ?? path.split(/[?#]/)[0]!.split("/").at(-1)!;
    return new File([await response.blob()], name);
  }

  /** Every item of a list that the hub hands out in pages. */
  async all<Item>(path: string): Promise<Item[]> {
    const items: Item[] = [];
    let cursor: string | null = null;
    for (let page = 0; page < PAGES_LIMIT; page++) {
      const query: string = cursor === null ? "" : `${path.includes("?") ? "&" : "?"}cursor=${encodeURIComponent(cursor)}`;
      const answer: Page<Item> = await this.get(path + query);
      items.push(...answer.items);
      cursor = answer.next ?? null;
      if (cursor === null) return items;
    }
    throw new Problem(0, "The hub's list does not end", `${path} went on past ${PAGES_LIMIT} pages.`);
  }

  /** The bytes of an answer without end: of what is asked about in `body`, where one is given. */
  async stream(path: string, signal: AbortSignal, body?: unknown): Promise<ReadableStream<Uint8Array>> {
    const response = await this.call(body === undefined ? "GET" : "POST", path, { body, signal });
    if (response.body === null) throw new Problem(0, "The hub sent nothing", path);
    return response.body;
  }

  private async call(method: string, path: string, { body, signal, headers: more }: Call = {}): Promise<Response> {
    const headers: Record<string, string> = { Authorization: `Bearer ${this.token}`, ...more };
    const init: RequestInit = { method, headers, cache: "no-store" };
    if (body !== undefined) {
      headers["Content-Type"] = "application/json";
      init.body = JSON.stringify(body);
    }
    if (signal) init.signal = signal;
    let response: Response;
    try {
      response = await fetch(`/api/v1${path}`, init);
    } catch (error) {
      throw asProblem(error);
    }
    if (response.ok) return response;
    throw problemFrom(response.status, await response.json().catch(() => null));
  }
}

interface Call {
  body?: unknown;
  signal?: AbortSignal | undefined;
  headers?: Record<string, string>;
}

function precondition(etag: string | null | undefined): Record<string, string> {
  if (etag === undefined) return {};
  return etag === null ? { "If-None-Match": "*" } : { "If-Match": etag };
}

async function itemOf<Answer>(response: Response): Promise<Item<Answer>> {
  return { value: (await response.json()) as Answer, etag: response.headers.get("ETag") ?? "" };
}
