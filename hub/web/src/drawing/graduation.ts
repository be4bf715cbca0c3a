/** Where a graduated scale has its marks: at multiples of 1, 2 or 5 times a power of ten. */

/** The step whose marks from `low` to `high` are as many as can be, yet no more than `most` steps apart. */
export function stepFor(low: number, high: number, most: number): number {
  const least = Math.max((high - low) / most, Number.MIN_VALUE);
  const power = 10 ** Math.floor(Math.log10(least));
  return ([1, 2, 5].find((step) => step * power >= least * (1 - 1e-9)) ?? 10) * power;
}

/** The marks from `low` to `high`, ends included where they are marks. */
export function graduation(low: number, high: number, most: number): number[] {
  if (!(high > low)) return [low];
  const step = stepFor(low, high, most);
  const marks: number[] = [];
  for (let i = Math.ceil(low / step - 1e-9); i <= high / step + 1e-9; i++) marks.push(+(i * step).toPrecision(12));
  return marks;
}
