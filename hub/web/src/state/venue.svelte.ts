/** The one state of the page: what the hub says of the venue, kept current by its event stream. */

import { Client } from "../api/client";
import type {
  Audit,
  Elevation,
  EnergyBy,
  Finding,
  HistorySubject,
  Level,
  MasterLevel,
  NodeState,
  Rollout,
  TakeRequest,
  Scene,
  VenueSummary,
} from "../api/contract";
import { keep } from "../api/download";
import { asProblem, Problem } from "../api/problem";
import { keepReading } from "../api/reconnect";
import { ServerEventReader, type ServerEvent } from "../api/server_events";
import { Controls } from "./controls.svelte";
import { Cues } from "./cues.svelte";
import { FlashChecks } from "./flash_checks.svelte";
import { oldestFirst, withAnswer, withFinding, withNodes, withRollout } from "./merge";
import { Preview } from "./preview.svelte";
import { isUnderWay, type Step } from "./rollout_steps";
import { SceneDesk } from "./scene_desk.svelte";
import { Timetable } from "./timetable.svelte";

export type Link = "opening" | "live" | "lost";

const QUIET_MS = 60_000;
const AUDIT_EVERY_MS = 30_000;
/** A large venue's nodes speak hundreds of times a second; the page takes them in together. */
const NODES_EVERY_MS = 500;
/** From the word that a revision is taken until it shows everywhere; the hub begins no other rollout before that. */
const TAKING_MS = 1_500;
/** The scene that every board holds besides the venue's own. */
export const WORK_LIGHT = "work-light";

export class VenueState {
  elevation = $state.raw<Elevation | null>(null);
  nodes = $state.raw<readonly NodeState[]>([]);
  audit = $state.raw<Audit | null>(null);
  /** Everything that is open, the oldest first, and what is folded into others. */
  openFindings = $state.raw<readonly Finding[]>([]);
  scenes = $state.raw<readonly Scene[]>([]);
  rollouts = $state.raw<readonly Rollout[]>([]);
  /** Linear gain of everything that shows. */
  masterLevel = $state(1);
  link = $state<Link>("opening");
  problem = $state.raw<Problem | null>(null);
  /** Whether the hub was asked to take something and has not answered: it may have to check a scene for flashes first. */
  asking = $state(false);
  private taking = $state(false);

  /** The rollout under way or just ended, and the one whose revision is in force. */
  latest = $derived(this.rollouts[0] ?? null);
  /** Whether a rollout is under way, so that no other can begin. */
  busy = $derived(this.asking || this.taking || this.rollouts.some(isUnderWay));
  /** Rollouts to tell of: those that wait or are under way, and the newest however it ended, with the one that it took back. */
  told = $derived(
    this.rollouts.filter(
      (rollout, i) => i === 0 || rollout.state === "planned" || isUnderWay(rollout) || rollout.revision === this.latest?.reverts,
    ),
  );
  /** What stands by itself: one for each thing that is wrong. */
  findings = $derived(this.openFindings.filter(({ folded_into }) => folded_into === null));
  /** Those that are no planned work's. */
  toldFindings = $derived(this.findings.filter(({ state }) => state !== "muted"));
  inForce = $derived(this.rollouts.find((rollout) => rollout.state === "taken") ?? null);
  /** The scene that is on, null for darkness; undefined before any is. The timetable may have changed it since the last take. */
  onNow = $derived.by(() => {
    const { why } = this.timetable;
    const takenMs = this.inForce?.take_at_ms ?? 0;
    if (why && why.source !== "nothing" && why.at.at_ms >= takenMs) return why.scene;
    return this.inForce?.scene;
  });
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

  /** The scene that the drawing shows instead of what is up, if any. */
  readonly preview: Preview;
  readonly desk: SceneDesk;
  readonly flashes: FlashChecks;
  readonly controls: Controls;
  readonly cues: Cues;
  readonly timetable: Timetable;
  /** The scene whose take waits for the name of who confirms its flashes. */
  unconfirmed = $state<string | null>(null);
  readonly root: string;
  /** Events that came while the lists were being read; they are newer than some of them. Null when nothing is read. */
  private held: ServerEvent[] | null = null;
  private readAgain = false;
  private readonly heard = new Map<string, NodeState>();

  constructor(
    readonly client: Client,
    readonly venue: VenueSummary,
    private readonly refused: () => void,
  ) {
    this.root = `/venues/${encodeURIComponent(venue.id)}`;
    this.preview = new Preview(client, this.root);
    this.desk = new SceneDesk(client, this.root);
    this.flashes = new FlashChecks(client, this.root);
    this.controls = new Controls(client, this.root, (rollout) => {
      this.answered(rollout);
      void this.cues.read();
    });
    this.cues = new Cues(client, this.root);
    this.timetable = new Timetable(client, this.root);
  }

  get framesPath(): string {
    return `${this.root}/elevation/frames`;
  }

  runVoltsPath(node: string, channel: number, level: Level): string {
    return `${this.root}/audit/runs/${encodeURIComponent(node)}/${channel}?level=${level}`;
  }

  /** `level` is of full white, 0 to 1. */
  feedAdvicePath(node: string, channel: number, level: number): string {
    const question = { node, channel: String(channel), level: String(level) };
    return `${this.root}/advice/feeds?${new URLSearchParams(question)}`;
  }

  budgetPath(supply: string): string {
    return `${this.root}/budgets?supply=${encodeURIComponent(supply)}`;
  }

  documentPath(name: string): string {
    return `${this.root}/${name}`;
  }

  wiringSheetPath(node: string): string {
    return `${this.root}/nodes/${encodeURIComponent(node)}/wiring-sheet.pdf`;
  }

  /** Fetches a file and hands it to the browser to keep; what fails becomes the page's problem. */
  keepFile(path: string): Promise<void> {
    this.problem = null;
    return this.guarded(async () => keep(await this.client.file(path)));
  }

  /** History of a node, a supply or the venue; `more` asks for a time and for quantities. */
  historyPath(kind: HistorySubject, subject: string, more: URLSearchParams, format: "" | ".csv" = ""): string {
    return `${this.root}/history/${kind}/${encodeURIComponent(subject)}${format}?${more}`;
  }

  /** The local days `from` to `to`, YYYY-MM-DD. */
  energyPath(by: EnergyBy, from: string, to: string, format: "" | ".csv" = ""): string {
    return `${this.root}/energy${format}?${new URLSearchParams({ by, from, to })}`;
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
    const deaf = this.controls.listen();
    const audits = setInterval(() => void this.loadAudit(), AUDIT_EVERY_MS);
    return () => {
      stop();
      deaf();
      this.timetable.stop();
      this.flashes.stop();
      clearInterval(audits);
    };
  }

  async load(): Promise<void> {
    if (this.held) {
      this.readAgain = true;
      return;
    }
    this.held = [];
    do {
      this.readAgain = false;
      await this.guarded(() => this.readLists());
    } while (this.readAgain);
    const held = this.held;
    this.held = null;
    held.forEach((event) => this.take(event));
  }

  private async readLists(): Promise<void> {
    const [elevation, nodes, findings, scenes, rollouts, master] = await Promise.all([
      this.client.get<Elevation>(`${this.root}/elevation`),
      this.client.all<NodeState>(`${this.root}/node-states?limit=500`),
      this.client.all<Finding>(`${this.root}/findings?open=true&folded=true&limit=500`),
      this.client.all<Scene>(`${this.root}/scenes?limit=100`),
      this.client.get<{ items: Rollout[] }>(`${this.root}/rollouts?limit=20`),
      this.client.get<MasterLevel>(`${this.root}/master-level`),
    ]);
    this.elevation = elevation;
    this.nodes = nodes;
    this.openFindings = oldestFirst(findings);
    this.scenes = scenes;
    void this.flashes.read();
    void this.timetable.follow();
    void this.cues.read();
    this.rollouts = rollouts.items;
    this.masterLevel = master.level;
    void this.loadAudit();
  }

  async loadAudit(): Promise<void> {
    if (this.link !== "live") return;
    await this.guarded(async () => {
      this.audit = await this.client.get<Audit>(`${this.root}/audit`);
    });
  }

  sceneTitle(scene: string | null): string {
    if (scene === null) return "Darkness";
    if (scene === WORK_LIGHT) return this.scenes.find(({ id }) => id === scene)?.title ?? "Work light";
    return this.scenes.find(({ id }) => id === scene)?.title ?? scene;
  }

  /** A scene that fails the flash check goes out only when a person confirms it; where nobody does, it waits for a name. */
  async takeScene(scene: string | null, fadeMs: number, flashConfirmedBy: string | null = null): Promise<void> {
    this.unconfirmed = null;
    if (scene !== null && flashConfirmedBy === null && this.flashes.fails(scene)) {
      this.unconfirmed = scene;
      return;
    }
    await this.ask(() => {
      const request: TakeRequest = { scene, fade_ms: fadeMs, flash_confirmed_by: flashConfirmedBy };
      return this.client.post<Rollout>(`${this.root}/takes`, request);
    });
    if (!this.problem?.mistakes.some(({ field }) => field.endsWith("flash_confirmed_by"))) return;
    this.unconfirmed = scene;
    if (flashConfirmedBy === null) this.problem = null;
  }

  setMasterLevel(level: number): Promise<void> {
    this.problem = null;
    return this.guarded(async () => {
      this.masterLevel = (await this.client.put<MasterLevel>(`${this.root}/master-level`, { level })).value.level;
    });
  }

  /** What a person asks of a rollout under way, or of one that waits. */
  askRollout(revision: number, step: Step): Promise<void> {
    return this.ask(() => this.client.post<Rollout>(`${this.root}/rollouts/${revision}/${step}`));
  }

  /** An answer to something that was asked for. */
  answered(rollout: Rollout): void {
    this.holdRollouts(withAnswer(this.rollouts, rollout));
  }

  private async ask(send: () => Promise<Rollout>): Promise<void> {
    this.asking = true;
    this.problem = null;
    await this.guarded(async () => this.answered(await send()));
    this.asking = false;
  }

  private take({ event, data }: ServerEvent): void {
    if (event === "resync" || event === "venue") {
      void this.load();
      return;
    }
    if (this.held) {
      this.held.push({ event, data });
      return;
    }
    const value: unknown = JSON.parse(data);
    if (event === "node") this.putNode(value as NodeState);
    if (event === "finding") this.openFindings = withFinding(this.openFindings, value as Finding);
    if (event === "rollout") this.holdRollouts(withRollout(this.rollouts, value as Rollout));
  }

  private putNode(node: NodeState): void {
    if (this.heard.size === 0) setTimeout(() => this.takeInNodes(), NODES_EVERY_MS);
    this.heard.set(node.node, node);
  }

  private takeInNodes(): void {
    this.nodes = withNodes(this.nodes, this.heard);
    this.heard.clear();
  }

  private holdRollouts(rollouts: readonly Rollout[]): void {
    const before = this.inForce;
    this.rollouts = rollouts;
    if (this.inForce === before || this.inForce?.revision === before?.revision) return;
    void this.loadAudit();
    void this.cues.read();
    this.taking = true;
    setTimeout(() => {
      this.taking = false;
      void this.timetable.read();
    }, TAKING_MS);
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
