/** The venue's timetable: why what is on is on, its months, and its entries while they are being changed. */

import type { Client } from "../api/client";
import type { CalendarMonth, Why } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";
import { plainEntry, type DraftEntry } from "./draft_timetable";
import { Document } from "./document.svelte";
import { wallTime } from "./local_time";

interface Entries {
  entries: readonly DraftEntry[];
}

const READ_EVERY_MS = 60_000;
/** After a boundary the boards fade; what is on is asked for once that has begun. */
const AFTER_BOUNDARY_MS = 500;

export class Timetable {
  why = $state.raw<Why | null>(null);
  /** Of what is read: by its name, such as 2026-11. */
  months = $state.raw<ReadonlyMap<string, CalendarMonth>>(new Map());
  /** Now, at each reading. */
  nowMs = $state(Date.now());
  problem = $state.raw<Problem | null>(null);

  zone = $derived(this.why?.time_zone ?? "UTC");
  today = $derived(wallTime(this.nowMs, this.zone).day);

  /** Whether a person's take, or a cue's, stands before what the timetable has on. */
  held = $derived(this.why?.next?.entry != null && (this.why?.source === "hold" || this.why?.source === "follow-on"));
  /** Every spell that is known, once each. */
  spells = $derived.by(() => {
    const days = [...this.months.values()].flatMap((month) => month.days);
    return [...new Map(days.flatMap(({ spells }) => spells).map((spell) => [`${spell.begins.at_ms} ${spell.entry}`, spell])).values()];
  });

  readonly document: Document<Entries>;
  /** The month that is looked at besides this one. */
  private looked: string | null = null;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private followed = false;

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {
    this.document = new Document<Entries>(client, `${root}/timetable`, null, ({ entries }) => ({ entries: entries.map(plainEntry) }));
  }

  get entries(): readonly DraftEntry[] {
    return this.document.draft?.entries ?? [];
  }

  get exportPath(): string {
    return `${this.root}/timetable.ics`;
  }

  /** Whether the hub holds an entry of this id. */
  knows(id: string): boolean {
    return this.document.saved?.entries.some((entry) => entry.id === id) ?? false;
  }

  /** Keeps what is on, and today, current until `stop`. */
  follow(): void {
    this.followed = true;
    void this.read();
  }

  stop(): void {
    this.followed = false;
    clearTimeout(this.timer);
  }

  /** What is on, and the months that are shown. */
  async read(): Promise<void> {
    try {
      this.why = await this.client.get<Why>(`${this.root}/timetable/why`);
      this.nowMs = this.why.at.at_ms;
      const wanted = [...new Set([this.today.slice(0, 7), this.looked ?? this.today.slice(0, 7)])];
      const read = await Promise.all(wanted.map((month) => this.month(month)));
      this.months = new Map(read.map((month) => [month.month, month]));
      this.problem = null;
    } catch (error) {
      this.problem = asProblem(error);
    }
    const untilNext = (this.why?.next?.at.at_ms ?? Infinity) - this.nowMs + AFTER_BOUNDARY_MS;
    clearTimeout(this.timer);
    if (this.followed) this.timer = setTimeout(() => void this.read(), Math.min(READ_EVERY_MS, Math.max(untilNext, AFTER_BOUNDARY_MS)));
  }

  /** Another month, which is then kept current, too. */
  async look(month: string): Promise<void> {
    this.looked = month;
    if (this.months.has(month)) return;
    try {
      this.months = new Map([...this.months, [month, await this.month(month)]]);
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  /** Entries for the sheet; changes that are not saved stay. */
  async open(): Promise<void> {
    if (!this.document.changed) await this.document.read();
  }

  change(entries: readonly DraftEntry[]): void {
    this.document.change({ entries });
  }

  private month(month: string): Promise<CalendarMonth> {
    return this.client.get<CalendarMonth>(`${this.root}/timetable/month?month=${month}`);
  }
}
