/** The ground that the sheet is drawn on: paper by day, slate by night, or as the system says. */

export type Ground = "system" | "paper" | "slate";

const KEY = "stringcourse.ground";
const isGround = (value: unknown): value is Ground => value === "system" || value === "paper" || value === "slate";

class Theme {
  ground = $state<Ground>("system");
  /** Counts changes of ground, the system's included, so that drawings know to be made again. */
  changes = $state(0);

  start(): void {
    const kept = localStorage.getItem(KEY);
    if (isGround(kept)) this.ground = kept;
    this.apply();
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.changes++);
  }

  choose(ground: Ground): void {
    this.ground = ground;
    localStorage.setItem(KEY, ground);
    this.apply();
    this.changes++;
  }

  private apply(): void {
    if (this.ground === "system") delete document.documentElement.dataset["ground"];
    else document.documentElement.dataset["ground"] = this.ground;
  }
}

export const theme = new Theme();
