/** Revision clouds: the scalloped line that a draughtsman puts around what needs attention. */

/** SVG path of a cloud around a rectangle; the arcs bulge outwards and are about `arcPx` wide. */
export function cloudPath(x: number, y: number, width: number, height: number, arcPx: number): string {
  const across = Math.max(2, Math.round(width / arcPx));
  const down = Math.max(2, Math.round(height / arcPx));
  const [dx, dy] = [width / across, height / down];
  const side = (count: number, stepX: number, stepY: number): string => {
    const radius = (Math.hypot(stepX, stepY) * 0.56).toFixed(2);
    return `a${radius} ${radius} 0 0 1 ${stepX.toFixed(2)} ${stepY.toFixed(2)}`.repeat(count);
  };
  return `M${x.toFixed(2)} ${y.toFixed(2)}${side(across, dx, 0)}${side(down, 0, dy)}${side(across, -dx, 0)}${side(down, 0, -dy)}z`;
}
