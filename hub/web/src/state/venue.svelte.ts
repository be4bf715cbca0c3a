/** The one state of the page: what the hub says of the venue, kept current by its event stream. */

import { Client } from "../api/client";
import type {
  Audit,
  Elevation,
  Finding,
  NodeState,
  Rollout,
  TakeRequest,
  Scene,
  VenueSummary,
} from "../api/contract";
import { asProblem, Problem } from "../api/problem";
import { keepReading } from "../api/reconnect";
import { ServerEventReader, type ServerEvent } from "../api/server_events";

export type Link = "opening" | "live" | "lost";

const QUIET_MS = 60_000;
const AUDIT_EVERY_MS = 30_000;

export class VenueState {
  elevation = $state.raw<Elevation | null>(null);
  nodes = $state.raw<readonly NodeState[]>([]);
  audit = $state.raw<Audit | null>(null);
  findings = $state.raw<readonly Finding[]>([]);
  scenes = $state.raw<readonly Scene[]>([]);
  rollouts = $state.raw<readonly Rollout[]>([]);
  link = $state<Link>("opening");
  problem = $state.raw<Problem | null>(null);
  asking = $state(false);

  /** The rollout under way or just ended, and the one whose revision is in force. */
  latest = $derived(this.rollouts[0] ?? null);
  inForce = $derived(this.rollouts.find((rollout) => rollout.state === "taken") ?? null);
  silent = $derived(new Set(this.nodes.filter((node) => !node.online).map((node) => node.node)));
  /** Amps drawn from each supply now: the sum of what its nodes say. */
  drawnA = $derived.by(() => {
    const drawn = new Map<string, number>();
    for (const node of this.nodes) {
      if (!node.online) continue;
      for (const reading of node.supplies) drawn.set(reading.supply, (drawn.get(reading.supply) ?? 0) + reading.amps);
    }
    return drawn;
  });

  private readonly root: string;

  constructor(
    readonly client: Client,
    readonly venue: VenueSummary,
    private readonly refused: () => void,
  ) {
    this.root = `/venues/${encodeURIComponent(venue.id)}`;
  }

  get framesPath(): string {
    return `${this.root}/elevation/frames`;
  }

  /** Loads everything and follows events until the returned function is called. */
  follow(): () => void {
    const stop = keepReading({
      open: (signal) => this.client.stream(`${this.root}/events`, signal),
      opened: () => {
        this.link = "live";
        void this.load();
        const reader = new ServerEventReader();
        return (chunk) => reader.push(chunk).forEach((event) => this.take(event));
      },
      lost: (problem) => {
        this.link = "lost";
        if (problem.unauthorised) this.refused();
      },
      quietMs: QUIET_MS,
    });
    const audits = setInterval(() => void this.loadAudit(), AUDIT_EVERY_MS);
    return () => {
      stop();
      clearInterval(audits);
    };
  }

  async load(): Promise<void> {
    await this.guarded(async () => {
      const [elevation, nodes, audit, findings, scenes, rollouts] = await Promise.all([
        this.client.get<Elevation>(`${this.root}/elevation`),
        this.client.all<NodeState>(`${this.root}/node-states?limit=500`),
        this.client.get<Audit>(`${this.root}/audit`),
        this.client.all<Finding>(`${this.root}/findings?open=true&limit=500`),
        this.client.all<Scene>(`${this.root}/scenes?limit=100`),
        this.client.get<{ items: Rollout[] }>(`${this.root}/rollouts?limit=20`),
      ]);
      this.elevation = elevation;
      this.nodes = nodes;
      this.audit = audit;
      this.findings = oldestFirst(findings);
      this.scenes = scenes;
      this.rollouts = rollouts.items;
    });
  }

  async loadAudit(): Promise<void> {
    if (this.link !== "live") return;
    await this.guarded(async () => {
      this.audit = await this.client.get<Audit>(`${this.root}/audit`);
    });
  }

  sceneTitle(scene: string | null): string {
    if (scene === null) return "Darkness";
    return this.scenes.find(({ id }) => id === scene)?.title ?? scene;
  }

  takeScene(scene: string | null, fadeMs: number): Promise<void> {
    return this.ask(() => {
      const request: TakeRequest = { scene, fade_ms: fadeMs };
      return this.client.post<Rollout>(`${this.root}/takes`, request);
    });
  }

  goBack(): Promise<void> {
    return this.ask(() => this.client.post<Rollout>(`${this.root}/rollouts/back`));
  }

  private async ask(send: () => Promise<Rollout>): Promise<void> {
    this.asking = true;
    this.problem = null;
    await this.guarded(async () => this.putRollout(await send()));
    this.asking = false;
  }

  private take({ event, data }: ServerEvent): void {
    if (event === "resync" || event === "venue") {
      void this.load();
      return;
    }
    const value: unknown = JSON.parse(data);
    if (event === "node") this.putNode(value as NodeState);
    if (event === "finding") this.putFinding(value as Finding);
    if (event === "rollout") this.putRollout(value as Rollout);
  }

  private putNode(node: NodeState): void {
    const at = this.nodes.findIndex((known) => known.node === node.node);
    this.nodes = at < 0 ? [...this.nodes, node] : this.nodes.with(at, node);
  }

  private putFinding(finding: Finding): void {
    const others = this.findings.filter((known) => known.id !== finding.id);
    this.findings = finding.ended_at_ms === null ? oldestFirst([...others, finding]) : others;
  }

  private putRollout(rollout: Rollout): void {
    const others = this.rollouts.filter((known) => known.revision !== rollout.revision);
    const settled = rollout.state === "taken" && this.latest?.state !== "taken";
    this.rollouts = [...others, rollout].sort((a, b) => b.revision - a.revision).slice(0, 20);
    if (settled) void this.loadAudit();
  }

  private async guarded(work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } catch (error) {
      const problem = asProblem(error);
      if (problem.unauthorised) this.refused();
      else this.problem = problem;
    }
  }
}

function oldestFirst(findings: Finding[]): Finding[] {
  return findings.sort((a, b) => a.started_at_ms - b.started_at_ms || a.id.localeCompare(b.id));
}
