/** History of one subject as its charts show it: a span of time that ends now or was left behind, read anew while it ends now. */

import type { HistorySeries, HistorySubject } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";
import { SPAN_MS, type Span } from "./history_span";
import type { VenueState } from "./venue.svelte";

const POINTS = 400;
const READ_EVERY_MS: Readonly<Record<Span, number>> = { day: 30_000, week: 120_000, month: 600_000, year: 3_600_000 };

export class History {
  span = $state<Span>("day");
  /** How many spans ago it ends. */
  ago = $state(0);
  series = $state.raw<HistorySeries | null>(null);
  /** Which span the series is of: another may be chosen already. */
  spanOfSeries = $state<Span>("day");
  problem = $state.raw<Problem | null>(null);

  constructor(
    private readonly venue: VenueState,
    private readonly kind: HistorySubject,
    private readonly subject: string,
  ) {}

  choose(span: Span): void {
    this.span = span;
    this.ago = 0;
  }

  /** Reads what is chosen, and again from time to time, until the returned function is called. */
  follow(): () => void {
    const [span, ago] = [this.span, this.ago];
    let stale = false;
    const read = async (): Promise<void> => {
      try {
        const series = await this.venue.client.get<HistorySeries>(this.path(span, ago, ""));
        if (!stale) [this.series, this.spanOfSeries, this.problem] = [series, span, null];
      } catch (error) {
        if (!stale) this.problem = asProblem(error);
      }
    };
    void read();
    const again = ago === 0 ? setInterval(() => void read(), READ_EVERY_MS[span]) : undefined;
    return () => {
      stale = true;
      clearInterval(again);
    };
  }

  get csvPath(): string {
    return this.path(this.span, this.ago, ".csv");
  }

  private path(span: Span, ago: number, format: "" | ".csv"): string {
    const untilMs = Date.now() - ago * SPAN_MS[span];
    const asked = new URLSearchParams({ from_ms: String(untilMs - SPAN_MS[span]), points: String(POINTS) });
    // Without an end it is the hub's own now.
    if (ago) asked.set("until_ms", String(untilMs));
    return this.venue.historyPath(this.kind, this.subject, asked, format);
  }
}
