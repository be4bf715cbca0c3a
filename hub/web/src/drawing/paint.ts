/** Colours and ramps of scenes in CSS, which knows linear light and OKLab by itself. */

/** Null where only the hub can tell what it looks like. */
export function cssColour(colour: unknown): string | null {
  if (typeof colour === "string") return /^(#[0-9a-f]{6}|[a-z]+)$/.test(colour) ? colour : null;
  const linear = (colour as { linear?: unknown } | null)?.linear;
  if (!Array.isArray(linear) || linear.length !== 3 || !linear.every((share) => typeof share === "number")) return null;
  return `color(srgb-linear ${linear.join(" ")})`;
}

export interface RampStop {
  at: unknown;
  colour: unknown;
}

/** A background that shows the ramp from left to right; null where a stop's colour cannot be told. */
export function cssRamp(stops: readonly RampStop[], mix: unknown): string | null {
  const parts = stops.map(({ at, colour }) => {
    const shown = cssColour(colour);
    return shown !== null && typeof at === "number" ? `${shown} ${at * 100}%` : null;
  });
  if (parts.length === 0 || parts.includes(null)) return null;
  return `linear-gradient(to right in ${mix === "linear" ? "srgb-linear" : "oklab"}, ${parts.join(", ")})`;
}
