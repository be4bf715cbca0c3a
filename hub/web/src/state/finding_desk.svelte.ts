/** The findings on their sheet: one with its history, those that ended, planned work, and what a person does about them. */

import type { Client } from "../api/client";
import type { Finding, FindingDetail, Mute, MuteRequest } from "../api/contract";
import { asProblem } from "../api/problem";
import { Asking } from "./asking.svelte";

const ENDED_AT_ONCE = 50;

export class FindingDesk extends Asking {
  detail = $state.raw<FindingDetail | null>(null);
  /** Newest first; read on by `readMore`. */
  ended = $state.raw<readonly Finding[]>([]);
  mutes = $state.raw<readonly Mute[]>([]);
  /** Where the list of ended ones goes on; null at its end. */
  next = $state.raw<string | null>(null);

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {
    super();
  }

  /** The finding with the id, or none for an empty one. */
  async look(id: string): Promise<void> {
    if (this.detail?.id !== id) this.detail = null;
    if (!id) return;
    try {
      this.detail = await this.client.get<FindingDetail>(this.path(id));
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  async readEnded(): Promise<void> {
    this.ended = [];
    this.next = null;
    await this.readOn("");
  }

  async readMore(): Promise<void> {
    if (this.next !== null) await this.readOn(`&cursor=${encodeURIComponent(this.next)}`);
  }

  async readMutes(): Promise<void> {
    try {
      this.mutes = await this.client.all<Mute>(`${this.root}/mutes?limit=500`);
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  acknowledge(id: string, note: string): Promise<boolean> {
    return this.change(id, "acknowledge", { note: note || null });
  }

  note(id: string, text: string): Promise<boolean> {
    return this.change(id, "notes", { text });
  }

  async mute(request: MuteRequest): Promise<boolean> {
    const done = await this.asking(async () => void (await this.client.post(`${this.root}/mutes`, request)));
    if (done) await this.readMutes();
    return done;
  }

  async lift(mute: Mute): Promise<boolean> {
    const done = await this.asking(() => this.client.remove(`${this.root}/mutes/${mute.id}`));
    if (done) await this.readMutes();
    return done;
  }

  private async change(id: string, what: string, body: unknown): Promise<boolean> {
    const done = await this.asking(async () => void (await this.client.post(`${this.path(id)}/${what}`, body)));
    if (done) await this.look(id);
    return done;
  }

  private async readOn(cursor: string): Promise<void> {
    try {
      const page = await this.client.get<{ items: Finding[]; next?: string | null }>(`${this.root}/findings?open=false&limit=${ENDED_AT_ONCE}${cursor}`);
      this.ended = [...this.ended, ...page.items];
      this.next = page.next ?? null;
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  private path(id: string): string {
    return `${this.root}/findings/${encodeURIComponent(id)}`;
  }
}
