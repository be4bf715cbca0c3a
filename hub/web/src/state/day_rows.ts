/** The days of a timetable as rows of 24 hours: what is on from where to where, and where the sun stands. Pure. */

import type { Spell, SunTimes } from "../api/contract";
import { clockIn, DAY_MINUTES, wallTime } from "./local_time";

export interface Bar {
  spell: Spell;
  /** Shares of the day's 24 hours on the clock. */
  from: number;
  to: number;
}

/** The bars of one local day, in their order; spells that begin or end on other days are cut at midnight. */
export function barsOf(day: string, spells: readonly Spell[], zone: string): readonly Bar[] {
  return spells
    .flatMap((spell) => {
      const [from, to] = [placeIn(day, spell.begins.at_ms, zone), placeIn(day, spell.ends.at_ms, zone)];
      return to > from ? [{ spell, from, to }] : [];
    })
    .sort((a, b) => a.from - b.from);
}

/** 16:05 to 23:30. */
export function timesOf({ begins, ends }: Spell, zone: string): string {
  return `${clockIn(begins.at_ms, zone)} to ${clockIn(ends.at_ms, zone)}`;
}

/** How much of the day has gone by at an instant: 0 on earlier days, 1 on later ones. */
export function placeIn(day: string, ms: number, zone: string): number {
  const { day: on, minutes } = wallTime(ms, zone);
  return on < day ? 0 : on > day ? 1 : minutes / DAY_MINUTES;
}

export type Light = "night" | "twilight" | "day";

/** A stretch of the day under one light of the sky. */
export interface Sky {
  from: number;
  to: number;
  light: Light;
}

/** Nothing for a day on which the sun crosses neither height: whether it stays above or below is told in words. */
export function skyOf(day: string, sun: SunTimes | null, zone: string): readonly Sky[] {
  if (!sun) return [];
  const [dawn, rise, set, dusk] = [sun.civil_dawn, sun.sunrise, sun.sunset, sun.civil_dusk].map((moment) =>
    moment === null ? null : placeIn(day, moment.at_ms, zone),
  ) as [number | null, number | null, number | null, number | null];
  if (dawn === null && rise === null && set === null && dusk === null) return [];
  const noon = placeIn(day, sun.noon.at_ms, zone);
  const neverUp = rise === null && set === null;
  const [lightens, darkens] = [dawn ?? 0, dusk ?? 1];
  const [up, down] = neverUp ? [noon, noon] : [rise ?? 0, set ?? 1];
  const stretches: readonly [number, number, Light][] = [
    [0, lightens, "night"],
    [lightens, up, "twilight"],
    [up, down, "day"],
    [down, darkens, "twilight"],
    [darkens, 1, "night"],
  ];
  return stretches.filter(([from, to]) => to > from).map(([from, to, light]) => ({ from, to, light }));
}
