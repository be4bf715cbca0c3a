/** What asks the hub for one thing after the other: whether it still does, and why the last was refused. */

import { asProblem, type Problem } from "../api/problem";

export class Asking {
  /** Why it could not be read, saved or deleted. */
  problem = $state.raw<Problem | null>(null);
  busy = $state(false);
  /** Someone else changed it since it was read. */
  overtaken = $derived(this.problem?.status === 412);

  /** Whether it was done; not begun at all while something else is. */
  protected async asking(work: () => Promise<void>): Promise<boolean> {
    if (this.busy) return false;
    this.busy = true;
    this.problem = null;
    try {
      await work();
      return true;
    } catch (error) {
      this.problem = asProblem(error);
      return false;
    } finally {
      this.busy = false;
    }
  }
}
