/** Days as the hub counts them: UTC, YYYY-MM-DD. */

const DAY_MS = 86_400_000;

/** First and last of so many days up to and with the day of `nowMs`. */
export function daysTo(nowMs: number, days: number): { from: string; to: string } {
  const day = (ms: number): string => new Date(ms).toISOString().slice(0, 10);
  return { from: day(nowMs - (days - 1) * DAY_MS), to: day(nowMs) };
}
