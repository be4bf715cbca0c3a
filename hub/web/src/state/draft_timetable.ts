/** An entry of a timetable while it is being made: the contract's shape, with whatever stands in its fields just then. */

import { dayName } from "./local_time";
import { idFor, withField, type Fields } from "./draft_scene";

export interface DraftEntry extends Fields {
  id: string;
  title?: string | null;
  /** Null is darkness. */
  scene: string | null;
  begins: string;
  ends: string;
  fade_ms?: unknown;
  dates?: readonly string[];
  weekdays?: readonly string[];
  rule?: string | null;
  first_day?: string | null;
  last_day?: string | null;
  except_dates?: readonly string[];
  flash_confirmed_by?: string | null;
}

/** How an entry names its days. */
export type DaysBy = "every day" | "days of the week" | "dates" | "a rule";
export const DAYS_BY: readonly DaysBy[] = ["every day", "days of the week", "dates", "a rule"];
export const WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] as const;
export const SUN_MOMENTS = ["civil dawn", "sunrise", "sunset", "civil dusk"] as const;

/** A time of the clock, or so many minutes after (before, if negative) a moment of the sun. */
export type Moment = { by: "clock"; time: string } | { by: (typeof SUN_MOMENTS)[number]; offsetMin: number | string };

export function momentFrom(text: string): Moment {
  const found = /^(civil dawn|sunrise|sunset|civil dusk)(?: ([+-]) (\d+) min)?$/.exec(text.trim());
  const by = SUN_MOMENTS.find((moment) => moment === found?.[1]);
  return by ? { by, offsetMin: Number(`${found?.[2] ?? ""}${found?.[3] ?? 0}`) } : { by: "clock", time: text };
}

export function momentText(moment: Moment): string {
  if (moment.by === "clock") return moment.time;
  const { by, offsetMin } = moment;
  if (typeof offsetMin === "string") return `${by} + ${offsetMin} min`;
  return offsetMin === 0 ? by : `${by} ${offsetMin < 0 ? "-" : "+"} ${Math.abs(offsetMin)} min`;
}

export function daysBy(entry: DraftEntry): DaysBy {
  if (entry.rule != null) return "a rule";
  if (entry.dates?.length) return "dates";
  return entry.weekdays?.length ? "days of the week" : "every day";
}

/** The entry with its days named another way: what the ways share is kept. */
export function withDaysBy(entry: DraftEntry, by: DaysBy, today: string): DraftEntry {
  const plain: DraftEntry = { ...entry, dates: [], weekdays: [], rule: null };
  if (by === "every day") return plain;
  if (by === "days of the week") return { ...plain, weekdays: entry.weekdays?.length ? entry.weekdays : ["fri", "sat"] };
  if (by === "dates") return { ...plain, dates: [entry.first_day ?? today], first_day: null, last_day: null };
  return { ...plain, rule: "FREQ=MONTHLY;BYDAY=1FR", first_day: entry.first_day ?? today };
}

/** Dates as a person writes them one after another. What is no date stays, for the hub to refuse. */
export function datesFrom(text: string): string[] {
  return text.split(/[\s,;]+/).filter(Boolean);
}

export function datesText(dates: readonly string[] | undefined): string {
  return (dates ?? []).join(", ");
}

const WEEK_OF_1970 = ["1970-01-05", "1970-01-06", "1970-01-07", "1970-01-08", "1970-01-09", "1970-01-10", "1970-01-11"] as const;

export function weekdayName(day: string): string {
  const place = WEEKDAYS.indexOf(day as (typeof WEEKDAYS)[number]);
  return place < 0 ? day : dayName(WEEK_OF_1970[place]!, { weekday: "short" });
}

/** The days in words: "Mon to Sat, from 1 Dec 2026 to 6 Jan 2027, not on 24 Dec 2026". */
export function daysText(entry: DraftEntry): string {
  const words = [mainDays(entry)];
  if (entry.first_day && entry.last_day) words.push(`from ${dateText(entry.first_day)} to ${dateText(entry.last_day)}`);
  else if (entry.first_day) words.push(`from ${dateText(entry.first_day)} on`);
  else if (entry.last_day) words.push(`until ${dateText(entry.last_day)}`);
  if (entry.except_dates?.length) words.push(`not on ${listed(entry.except_dates.map(dateText))}`);
  return words.join(", ");
}

function mainDays(entry: DraftEntry): string {
  if (entry.rule != null) return entry.rule;
  if (entry.dates?.length) return listed(entry.dates.map(dateText));
  return entry.weekdays?.length ? weekdaysText(entry.weekdays) : "every day";
}

export function weekdaysText(days: readonly string[]): string {
  const places = days.map((day) => WEEKDAYS.indexOf(day as (typeof WEEKDAYS)[number])).toSorted((a, b) => a - b);
  const inOrder = places.every((place, i) => i === 0 || place === places[i - 1]! + 1);
  const names = places.map((place) => weekdayName(WEEKDAYS[place] ?? ""));
  return inOrder && names.length > 2 ? `${names[0]} to ${names.at(-1)}` : listed(names);
}

function dateText(date: string): string {
  return Number.isNaN(Date.parse(date)) ? date : dayName(date, { day: "numeric", month: "short", year: "numeric" });
}

const LISTED = 3;

function listed(names: readonly string[]): string {
  return names.length <= LISTED ? names.join(", ") : `${names.slice(0, LISTED).join(", ")} and ${names.length - LISTED} more`;
}

/** An evening's entry for the scene, to begin with. */
export function newEntry(scene: string | null, taken: readonly string[]): DraftEntry {
  return { id: idFor("entry", taken), title: null, scene, begins: "sunset", ends: "23:00", fade_ms: 3_000 };
}

/** The entry under another title; one that the hub does not know yet takes its id from it. */
export function retitled(entry: DraftEntry, title: string, isNew: boolean, taken: readonly string[]): DraftEntry {
  const named = withField(entry, "title", title || null);
  return isNew ? { ...named, id: idFor(title || "entry", taken) } : named;
}

/** What is left out when it says nothing, as the hub leaves it out. */
export function plainEntry(entry: DraftEntry): Fields {
  const empty = (value: unknown): boolean => value == null || (Array.isArray(value) && value.length === 0);
  return Object.fromEntries(Object.entries(entry).filter(([name, value]) => name === "scene" || !empty(value)));
}
