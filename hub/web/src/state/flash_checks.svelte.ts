/** What the hub's flash check says of the venue's scenes. The hub checks them by itself; the page asks what it knows. */

import type { Client } from "../api/client";
import type { FlashReport, FlashReports } from "../api/contract";

const FIRST_PAUSE_MS = 2_000;
const LONGEST_PAUSE_MS = 60_000;

export class FlashChecks {
  private reports = $state.raw<ReadonlyMap<string, FlashReport>>(new Map());
  private timer: ReturnType<typeof setTimeout> | undefined;
  /** Of what was asked; an older answer is passed over. */
  private round = 0;

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  of(scene: string): FlashReport | null {
    return this.reports.get(scene) ?? null;
  }

  fails(scene: string): boolean {
    return this.of(scene)?.verdict === "fails";
  }

  /** Asks now, and again less and less often while scenes are unchecked or the hub gives no answer. */
  async read(pauseMs = FIRST_PAUSE_MS): Promise<void> {
    this.stop();
    const { round } = this;
    let unchecked = true;
    try {
      const answer = await this.client.get<FlashReports>(`${this.root}/flash`);
      if (round !== this.round) return;
      this.reports = new Map(answer.reports.map((report) => [report.scene, report]));
      unchecked = answer.unchecked.length > 0;
    } catch {
      // The page tells by its event stream that the hub is gone.
      if (round !== this.round) return;
    }
    if (unchecked) this.timer = setTimeout(() => void this.read(Math.min(LONGEST_PAUSE_MS, pauseMs * 1.5)), pauseMs);
  }

  stop(): void {
    this.round++;
    clearTimeout(this.timer);
  }
}
