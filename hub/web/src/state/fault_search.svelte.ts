/** A guided search for a fault: from what is seen, question by question, to what it is. The hub holds it and decides. */

import type { Client } from "../api/client";
import type { FaultFinding, FaultFindingSummary, FaultSymptom, Finding, Symptom } from "../api/contract";
import { asProblem } from "../api/problem";
import { Asking } from "./asking.svelte";

const LISTED = 30;

export class FaultSearch extends Asking {
  /** The search that is gone through. */
  search = $state.raw<FaultFinding | null>(null);
  searches = $state.raw<readonly FaultFindingSummary[] | null>(null);
  symptoms = $state.raw<readonly FaultSymptom[]>([]);

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {
    super();
  }

  async look(id: string): Promise<void> {
    if (this.search?.id === id) return;
    this.search = null;
    await this.reading(async () => {
      this.search = await this.client.get<FaultFinding>(this.path(id));
    });
  }

  async readSymptoms(): Promise<void> {
    await this.reading(async () => {
      this.symptoms = await this.client.get<FaultSymptom[]>("/fault-symptoms");
    });
  }

  async readList(node: string | null = null): Promise<void> {
    await this.reading(async () => {
      const of = node === null ? "" : `&node=${encodeURIComponent(node)}`;
      this.searches = (await this.client.get<{ items: FaultFindingSummary[] }>(`${this.root}/fault-findings?limit=${LISTED}${of}`)).items;
    });
  }

  /** The id of the search that was begun; null where the hub would not. */
  async begin(node: string, channel: number | null, symptom: Symptom | null): Promise<string | null> {
    const done = await this.change(() => this.client.post<FaultFinding>(`${this.root}/fault-findings`, { node, channel, symptom }));
    return done ? this.search!.id : null;
  }

  answer(step: string, answer: string, note: string): Promise<boolean> {
    return this.step("answers", { step, answer, note: note || null });
  }

  back(): Promise<boolean> {
    return this.step("back");
  }

  showAgain(): Promise<boolean> {
    return this.step("pattern");
  }

  end(mended: boolean, note: string): Promise<boolean> {
    return this.step("end", { mended, note: note || null });
  }

  private step(what: string, body?: unknown): Promise<boolean> {
    const { id } = this.search!;
    return this.change(() => this.client.post<FaultFinding>(`${this.path(id)}/${what}`, body));
  }

  private change(send: () => Promise<FaultFinding>): Promise<boolean> {
    return this.asking(async () => {
      this.search = await send();
    });
  }

  private async reading(work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (error) {
      this.problem = asProblem(error);
    }
  }

  private path(id: string): string {
    return `${this.root}/fault-findings/${encodeURIComponent(id)}`;
  }
}

/** What is seen where a finding tells of it, or null where a search at the run would not help. */
export function symptomOf({ kind, cause }: Pick<Finding, "kind" | "cause">, symptoms: readonly FaultSymptom[]): Symptom | null {
  if (kind === "silent" && cause?.kind === "supply") return "supply-dark";
  return symptoms.find(({ findings }) => findings.includes(kind))?.symptom ?? null;
}
