/** What a person asks of a node from its sheet. Each ends by itself on the board. */

import type { Client } from "../api/client";
import { Asking } from "./asking.svelte";

const BREATHES_S = 20;
const WATCHED_S = 60;

export class NodeAsk extends Asking {
  /** What it does now, in a sentence. */
  told = $state("");

  constructor(
    private readonly client: Client,
    private readonly path: string,
  ) {
    super();
  }

  identify(): Promise<void> {
    return this.ask({ kind: "identify", seconds: BREATHES_S }, `Its runs breathe for ${BREATHES_S} s.`);
  }

  watch(): Promise<void> {
    return this.ask({ kind: "telemetry", interval_s: 1, seconds: WATCHED_S }, `It tells its figures each second, for ${WATCHED_S} s.`);
  }

  private async ask(question: object, told: string): Promise<void> {
    this.told = "";
    if (await this.asking(async () => void (await this.client.post(this.path, question)))) this.told = told;
  }
}
