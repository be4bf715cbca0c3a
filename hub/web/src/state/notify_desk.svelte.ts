/** Who is told of findings, what is on its way to them, and what was given up. */

import type { Client } from "../api/client";
import type { Destination, MadeDestination, Notice, NoticeState, SigningKey } from "../api/contract";
import { asProblem } from "../api/problem";
import { Asking } from "./asking.svelte";
import { addBody, type DraftDestination } from "./draft_destination";

const READ_EVERY_MS = 10_000;
const NOTICES = 50;

export class NotifyDesk extends Asking {
  destinations = $state.raw<readonly Destination[] | null>(null);
  /** Newest first, of the state that is looked at. */
  notices = $state.raw<readonly Notice[]>([]);
  looked = $state<NoticeState>("dead");
  /** How the last test went, by destination. */
  tested = $state.raw<ReadonlyMap<string, string>>(new Map());
  /** The destination that is being tested. */
  testing = $state<string | null>(null);
  /** Of the webhook just added: the hub shows it this once. */
  key = $state.raw<SigningKey | null>(null);

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {
    super();
  }

  /** Keeps the lists current until the returned function is called. */
  follow(): () => void {
    void this.read();
    const again = setInterval(() => void this.read(), READ_EVERY_MS);
    return () => clearInterval(again);
  }

  async read(): Promise<void> {
    const wanted = this.looked;
    try {
      const [destinations, notices] = await Promise.all([
        this.client.get<{ items: Destination[] }>(`${this.root}/destinations`),
        this.client.get<{ items: Notice[] }>(`${this.root}/notices?state=${wanted}&limit=${NOTICES}`),
      ]);
      this.destinations = destinations.items;
      if (wanted === this.looked) this.notices = notices.items;
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  look(state: NoticeState): void {
    this.looked = state;
    this.notices = [];
    void this.read();
  }

  pathOf(id: string): string {
    return `${this.root}/destinations/${encodeURIComponent(id)}`;
  }

  add(draft: DraftDestination): Promise<boolean> {
    return this.changing(async () => {
      this.key = (await this.client.post<MadeDestination>(`${this.root}/destinations`, addBody(draft))).signing_key;
    });
  }

  remove(id: string): Promise<boolean> {
    return this.changing(() => this.client.remove(this.pathOf(id)));
  }

  resend(notice: string): Promise<boolean> {
    return this.changing(async () => void (await this.client.post(`${this.root}/notices/${notice}/resend`)));
  }

  drop(notice: string): Promise<boolean> {
    return this.changing(() => this.client.remove(`${this.root}/notices/${notice}`));
  }

  /** A test may take half a minute, in which everything else goes on. */
  async test(id: string): Promise<void> {
    if (this.testing !== null) return;
    this.testing = id;
    try {
      const { said } = await this.client.post<{ said: string }>(`${this.pathOf(id)}/test`);
      this.tested = new Map([...this.tested, [id, said]]);
    } catch (error) {
      this.problem = asProblem(error);
    }
    this.testing = null;
    await this.read();
  }

  private async changing(work: () => Promise<void>): Promise<boolean> {
    const done = await this.asking(work);
    if (done) await this.read();
    return done;
  }
}
