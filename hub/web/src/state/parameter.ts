/** How a field of a statement is asked for, from what the hub says of it; no field and no pattern is known by name. */

import type { Parameter } from "../api/contract";

const UNIT_ENDINGS: Record<string, string> = { m: "_m", s: "_s", "m/s": "_m_per_s", Hz: "_hz", K: "_k", A: "_a" };

/** The field's name in words, without the unit, which stands beside it. */
export function labelOf({ name, unit }: Pick<Parameter, "name" | "unit">): string {
  const ending = unit ? UNIT_ENDINGS[unit] : undefined;
  const plain = ending && name.endsWith(ending) ? name.slice(0, -ending.length) : name;
  const words = plain.replaceAll("_", " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** The unit and the range, as far as there are any: "m/s, −100 to 100". */
export function rangeOf({ unit, least, most }: Pick<Parameter, "unit" | "least" | "most">): string {
  const figure = (value: number): string => value.toLocaleString("en", { maximumFractionDigits: 6 }).replace("-", "−");
  const range =
    least != null && most != null
      ? `${figure(least)} to ${figure(most)}`
      : least != null
        ? `${figure(least)} or more`
        : most != null
          ? `${figure(most)} or less`
          : "";
  return [unit, range].filter(Boolean).join(", ");
}

/** The number that was written; nothing where nothing was; the text where it is no number, for the hub to refuse. */
export function numberFrom(text: string): number | string | undefined {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  if (plain === "") return undefined;
  const value = Number(plain);
  return Number.isFinite(value) ? value : text;
}

/** A little more or less of a number: a step that suits its size, kept within its range. */
export function nudged(value: number, direction: 1 | -1, { kind, least, most }: Pick<Parameter, "kind" | "least" | "most">): number {
  const range = least != null && most != null ? most - least : Infinity;
  const size = 10 ** Math.floor(Math.log10(Math.abs(value) || 1)) / 10;
  const step = kind === "whole-number" ? Math.max(1, Math.round(size)) : range <= 2 ? range / 20 : size;
  const next = +(Math.round((value + direction * step) / step) * step).toPrecision(9);
  return Math.min(most ?? Infinity, Math.max(least ?? -Infinity, next));
}
