/** Figures and times as they are written on the sheet. */

import type { Finding, Headroom, Level } from "./api/contract";

export function amps(value: number | null): string {
  return value === null ? "–" : `${value.toFixed(value >= 100 ? 0 : value >= 10 ? 1 : 2)} A`;
}

export function energy(kwh: number): string {
  if (kwh < 0.1) return `${(kwh * 1000).toFixed(1)} Wh`;
  return `${kwh.toFixed(kwh >= 100 ? 0 : 2)} kWh`;
}

/** An amount of a currency of ISO 4217, as this reader's language writes it. */
export function money(value: number, currency: string): string {
  return value.toLocaleString(undefined, { style: "currency", currency });
}

export function volts(value: number | null): string {
  return value === null ? "–" : `${value.toFixed(2)} V`;
}

export function metres(value: number): string {
  return value.toFixed(2);
}

export function level(value: number): string {
  if (Math.abs(value) < 0.005) return "±0.00";
  return `${value > 0 ? "+" : "−"}${Math.abs(value).toFixed(2)}`;
}

/** 1 : N to two figures, as a draughtsman would name it. */
export function scaleName(n: number): string {
  const power = 10 ** Math.max(0, Math.floor(Math.log10(n)) - 1);
  return `1 : ${n < 10 ? n.toFixed(1) : Math.round(n / power) * power}`;
}

export function clockTime(ms: number): string {
  return new Date(ms).toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit", second: "2-digit", hour12: false });
}

export function dateTime(ms: number): string {
  const date = new Date(ms);
  const day = date.toLocaleDateString(undefined, { day: "numeric", month: "short" });
  return `${day}, ${clockTime(ms)}`;
}

export function fadeName(ms: number): string {
  if (ms === 0) return "at once";
  return ms < 60_000 ? `${ms / 1000} s` : `${ms / 60_000} min`;
}

/** A length of show time, or an instant of it from a scene's beginning. */
export function seconds(value: number): string {
  return `${+value.toFixed(value >= 100 ? 0 : value >= 10 ? 1 : 2)} s`;
}

export function counted(count: number, noun: string, plural: string): string {
  return `${count} ${count === 1 ? noun : plural}`;
}

export function percent(share: number): string {
  return `${Math.round(share * 100)} %`;
}

export function hertz(value: number | null): string {
  return value === null ? "–" : `${value.toFixed(0)} Hz`;
}

export function celsius(value: number | null): string {
  return value === null ? "–" : `${value.toFixed(0)} °C`;
}

export function milliseconds(value: number | null): string {
  return value === null ? "–" : `${value.toFixed(Math.abs(value) < 10 ? 1 : 0)} ms`;
}

const WORDS: Record<string, string> = {
  within: "within budget",
  "only-under-budget": "safe only under the budget",
  overloaded: "overloaded",
};

const LEVELS: Record<Level, string> = {
  typical: "typical",
  "under-budget": "under the budget",
  "worst-case": "worst case",
};

/** How bright the runs are while they are looked at. */
export function levelName(level: Level): string {
  return LEVELS[level];
}

const WIRING: Record<string, string> = { sound: "sound", attention: "needs attention", fault: "at fault" };

/** What the notes on a supply's wiring come to. */
export function wiringName(code: string): string {
  return WIRING[code] ?? code;
}

/** What is left of a budget, or how far it is exceeded. */
export function headroom({ amps: left, pixels }: Headroom): string {
  const count = pixels === null ? "" : `, ${counted(Math.abs(pixels), "pixel", "pixels")}`;
  if (left < 0) return `${amps(-left)} too much${count && `${count} too many`}`;
  return `${amps(left)} to spare${count && `${count} more`}`;
}

/** A verdict of the audit in words. */
export function verdict(code: string): string {
  return WORDS[code] ?? code.replaceAll("-", " ");
}

/** What the hub says in a clause, as a sentence of its own. */
export function sentence(clause: string): string {
  return clause && `${clause.charAt(0).toUpperCase()}${clause.slice(1)}${/[.!?]$/.test(clause) ? "" : "."}`;
}

/** A kind of finding in words. */
export function kindName(kind: string): string {
  return kind.replaceAll("-", " ");
}

/** Where a finding is in its life, and by whom. */
export function lifeOf({ state, ended_at_ms, acknowledged_by }: Pick<Finding, "state" | "ended_at_ms" | "acknowledged_by">): string {
  if (ended_at_ms !== null) return `ended ${dateTime(ended_at_ms)}`;
  if (state === "acknowledged" && acknowledged_by !== null) return `acknowledged by ${acknowledged_by}`;
  return state;
}

/** A span of time to two figures of its largest units: 3 d 4 h, 12 min, 40 s. */
export function duration(seconds: number): string {
  const UNITS = [["d", 86_400], ["h", 3_600], ["min", 60], ["s", 1]] as const;
  const first = Math.max(0, UNITS.findIndex(([, size]) => seconds >= size));
  const [[large, size], next] = [UNITS[seconds >= 1 ? first : 3]!, UNITS[seconds >= 1 ? first + 1 : 4]];
  const rest = next ? Math.floor((seconds % size) / next[1]) : 0;
  return `${Math.floor(seconds / size)} ${large}${next && rest && large !== "min" ? ` ${rest} ${next[0]}` : ""}`;
}
