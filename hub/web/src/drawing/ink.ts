/** The drawing's inks, as the style sheet names them, so that canvas and page change ground together. */

export interface Inks {
  paper: string;
  ink: string;
  soft: string;
  faint: string;
  trough: string;
  edge: string;
  glass: string;
  washStrength: number;
}

export function readInks(element: Element): Inks {
  const style = getComputedStyle(element);
  const colour = (name: string): string => style.getPropertyValue(name).trim();
  return {
    paper: colour("--paper"),
    ink: colour("--ink"),
    soft: colour("--ink-soft"),
    faint: colour("--ink-faint"),
    trough: colour("--trough"),
    edge: colour("--edge"),
    glass: colour("--glass"),
    washStrength: Number(colour("--wash-strength")) || 0.5,
  };
}
