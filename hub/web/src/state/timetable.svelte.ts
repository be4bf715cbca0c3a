/** The venue's timetable: why what is on is on, its months, and its entries while they are being changed. */

import type { Client, Item } from "../api/client";
import type { CalendarMonth, Timetable as Entries, Why } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";
import { plainEntry, type DraftEntry } from "./draft_timetable";
import { wallTime } from "./local_time";

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

  entries = $state.raw<readonly DraftEntry[]>([]);
  private saved = $state.raw<Item<Entries> | null>(null);
  busy = $state(false);
  /** Saved here, and not changed since. */
  kept = $state(false);
  ready = $derived(this.saved !== null);
  changed = $derived(this.ready && JSON.stringify(this.entries) !== JSON.stringify(this.saved?.value.entries));
  /** Someone else changed it since it was read. */
  overtaken = $derived(this.problem?.status === 412);

  zone = $derived(this.why?.time_zone ?? "UTC");
  today = $derived(wallTime(this.nowMs, this.zone).day);

  /** Whether a person's take, or a cue's, stands before what the timetable has on. */
  held = $derived(this.why?.next?.entry != null && (this.why?.source === "hold" || this.why?.source === "follow-on"));
  /** Every spell that is known, once each. */
  spells = $derived.by(() => {
    const days = [...this.months.values()].flatMap((month) => month.days);
    return [...new Map(days.flatMap(({ spells }) => spells).map((spell) => [`${spell.begins.at_ms} ${spell.entry}`, spell])).values()];
  });

  private timer: ReturnType<typeof setTimeout> | undefined;
  private followed = false;

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  get exportPath(): string {
    return `${this.root}/timetable.ics`;
  }

  /** Whether the hub holds an entry of this id. */
  knows(id: string): boolean {
    return this.saved?.value.entries.some((entry) => (entry as DraftEntry).id === id) ?? false;
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

  /** What is on, and the months that were read before. */
  async read(): Promise<void> {
    clearTimeout(this.timer);
    try {
      this.why = await this.client.get<Why>(`${this.root}/timetable/why`);
      this.nowMs = this.why.at.at_ms;
      const months = new Set([...this.months.keys(), this.today.slice(0, 7)]);
      await Promise.all([...months].map((month) => this.readMonth(month)));
    } catch (error) {
      this.problem = asProblem(error);
    }
    const untilNext = (this.why?.next?.at.at_ms ?? Infinity) - this.nowMs + AFTER_BOUNDARY_MS;
    if (this.followed) this.timer = setTimeout(() => void this.read(), Math.min(READ_EVERY_MS, Math.max(untilNext, AFTER_BOUNDARY_MS)));
  }

  private async readMonth(month: string): Promise<void> {
    const read = await this.client.get<CalendarMonth>(`${this.root}/timetable/month?month=${month}`);
    this.months = new Map([...this.months, [month, read]]);
  }

  /** A month that was not read yet. */
  async look(month: string): Promise<void> {
    await this.readMonth(month).catch((error: unknown) => (this.problem = asProblem(error)));
  }

  /** Entries for the sheet; changes that are not saved stay. */
  async open(): Promise<void> {
    if (this.changed) return;
    await this.working(async () => this.keep(await this.client.item<Entries>(`${this.root}/timetable`)));
    this.kept = false;
  }

  change(entries: readonly DraftEntry[]): void {
    this.entries = entries;
    this.kept = false;
    if (!this.overtaken) this.problem = null;
  }

  startAgain(): Promise<boolean> {
    return this.working(async () => this.keep(await this.client.item<Entries>(`${this.root}/timetable`)));
  }

  async save(): Promise<boolean> {
    const saved = await this.working(() => this.put(this.saved?.etag ?? "*"));
    if (saved) void this.read();
    return saved;
  }

  /** Over what someone else saved meanwhile. */
  async saveOver(): Promise<boolean> {
    const saved = await this.working(async () => {
      const { etag } = await this.client.item<Entries>(`${this.root}/timetable`);
      await this.put(etag);
    });
    if (saved) void this.read();
    return saved;
  }

  private async put(etag: string): Promise<void> {
    const body = { entries: this.entries.map(plainEntry) };
    this.keep(await this.client.put<Entries>(`${this.root}/timetable`, body, etag));
    this.kept = true;
  }

  private keep(saved: Item<Entries>): void {
    this.saved = saved;
    this.entries = saved.value.entries as readonly DraftEntry[];
  }

  private async working(work: () => Promise<void>): Promise<boolean> {
    if (this.busy) return false;
    this.busy = true;
    this.problem = null;
    try {
      await work();
      return true;
    } catch (error) {
      this.problem = asProblem(error);
      return false;
    } finally {
      this.busy = false;
    }
  }
}
