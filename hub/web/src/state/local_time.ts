/** Times as a venue's clocks show them: its time zone, not the reader's. */

export const DAY_MINUTES = 1_440;

interface Wall {
  /** YYYY-MM-DD. */
  day: string;
  /** Since midnight, as the clock on the wall says. */
  minutes: number;
}

const formats = new Map<string, Intl.DateTimeFormat>();

function formatIn(zone: string): Intl.DateTimeFormat {
  const known = formats.get(zone);
  if (known) return known;
  const fields = { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" } as const;
  const format = new Intl.DateTimeFormat("en-CA", { ...fields, hourCycle: "h23", timeZone: zone });
  formats.set(zone, format);
  return format;
}

export function wallTime(ms: number, zone: string): Wall {
  const parts = Object.fromEntries(formatIn(zone).formatToParts(ms).map(({ type, value }) => [type, value]));
  const minutes = Number(parts["hour"]) * 60 + Number(parts["minute"]) + Number(parts["second"]) / 60;
  return { day: `${parts["year"]!.padStart(4, "0")}-${parts["month"]}-${parts["day"]}`, minutes };
}

/** 18:30. */
export function clockIn(ms: number, zone: string): string {
  const minutes = Math.floor(wallTime(ms, zone).minutes);
  return `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
}

const plainDay = (day: string): Date => new Date(`${day}T00:00:00Z`);

/** Thu, 26 Nov, as this reader's language writes it. */
export function dayName(day: string, how: Intl.DateTimeFormatOptions = { weekday: "short", day: "numeric", month: "short" }): string {
  return plainDay(day).toLocaleDateString(undefined, { ...how, timeZone: "UTC" });
}

/** 1 is Monday, 7 Sunday (ISO 8601). */
export function weekdayOf(day: string): number {
  return plainDay(day).getUTCDay() || 7;
}

/** 2026-11 and so many months on. */
export function monthAfter(month: string, months: number): string {
  const [year, number] = month.split("-").map(Number) as [number, number];
  return new Date(Date.UTC(year, number - 1 + months, 1)).toISOString().slice(0, 7);
}
