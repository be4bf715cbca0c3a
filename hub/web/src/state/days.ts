/** Days as the hub counts them: those of the venue's time zone, YYYY-MM-DD. */

const DAY_MS = 86_400_000;

/** First and last of so many days up to and with the day of `nowMs`. */
export function daysTo(nowMs: number, days: number, timeZone: string): { from: string; to: string } {
  const to = new Intl.DateTimeFormat("en-CA", { timeZone, year: "numeric", month: "2-digit", day: "2-digit" }).format(nowMs);
  const from = new Date(Date.parse(to) - (days - 1) * DAY_MS).toISOString().slice(0, 10);
  return { from, to };
}
