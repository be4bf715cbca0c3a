/** Which stretch of history is looked at, and where its time axis has marks, by the venue's clock. Pure. */

import { clockIn, dayName, wallTime } from "./local_time";

export type Span = "day" | "week" | "month" | "year";
export const SPANS: readonly Span[] = ["day", "week", "month", "year"];

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
export const SPAN_MS: Readonly<Record<Span, number>> = { day: DAY_MS, week: 7 * DAY_MS, month: 31 * DAY_MS, year: 366 * DAY_MS };

export interface TimeMark {
  ms: number;
  label: string;
}

/** The midnight at which a day (YYYY-MM-DD) of the zone begins. */
export function midnightOf(day: string, zone: string): number {
  const plain = Date.parse(`${day}T00:00:00Z`);
  let ms = plain;
  // The second pass is for a change of the clocks between the guess and the midnight.
  for (let pass = 0; pass < 2; pass++) {
    const wall = wallTime(ms, zone);
    ms -= Date.parse(`${wall.day}T00:00:00Z`) + wall.minutes * 60_000 - plain;
  }
  return ms;
}

/** Marks of the axis: hours of a day, days of a week, weeks of a month, months of a year. */
export function timeMarks(span: Span, fromMs: number, untilMs: number, zone: string): TimeMark[] {
  const marks: TimeMark[] = [];
  for (let day = wallTime(fromMs, zone).day; ; day = dayAfter(day)) {
    const begins = midnightOf(day, zone);
    if (begins > untilMs) return marks;
    if (span === "day") {
      for (let ms = begins; ms < begins + DAY_MS; ms += 3 * HOUR_MS) marks.push({ ms, label: clockIn(ms, zone).replace(":00", "") });
    } else if (isMarked(span, day)) marks.push({ ms: begins, label: dayName(day, LABELS[span]) });
    while (marks.length && marks[0]!.ms < fromMs) marks.shift();
    while (marks.length && marks.at(-1)!.ms > untilMs) marks.pop();
  }
}

const LABELS: Readonly<Record<Exclude<Span, "day">, Intl.DateTimeFormatOptions>> = {
  week: { weekday: "short", day: "numeric" },
  month: { day: "numeric", month: "short" },
  year: { month: "short" },
};

function isMarked(span: Span, day: string): boolean {
  const date = Number(day.slice(8));
  return span === "week" || (span === "year" ? date === 1 : date % 7 === 1 && date < 29);
}

function dayAfter(day: string): string {
  return new Date(Date.parse(`${day}T00:00:00Z`) + DAY_MS).toISOString().slice(0, 10);
}

/** When a point of history was, for so long a span. */
export function pointName(ms: number, span: Span, zone: string): string {
  const day = dayName(wallTime(ms, zone).day, { weekday: "short", day: "numeric", month: "short", ...(span === "year" ? { year: "numeric" } : {}) });
  return `${day}, ${clockIn(ms, zone)}`;
}
