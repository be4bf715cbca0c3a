/** Revision clouds: the scalloped line that a draughtsman puts around what needs attention. */

const ARC_PX = 9;

/** SVG path of a cloud around a rectangle; the arcs bulge outwards. */
export function cloudPath(x: number, y: number, width: number, height: number): string {
  const across = Math.max(2, Math.round(width / ARC_PX));
  const down = Math.max(2, Math.round(height / ARC_PX));
  const [dx, dy] = [width / across, height / down];
  const side = (count: number, stepX: number, stepY: number): string => {
    const radius = (Math.hypot(stepX, stepY) * 0.56).toFixed(2);
    return `a${radius} ${radius} 0 0 1 ${stepX.toFixed(2)} ${stepY.toFixed(2)}`.repeat(count);
  };
  return `M${x.toFixed(2)} ${y.toFixed(2)}${side(across, dx, 0)}${side(down, 0, dy)}${side(across, -dx, 0)}${side(down, 0, -dy)}z`;
}
