/** A scene looked at before it is taken: its frames for a drawing, its amps, and what the hub will not have of it. */

import type { Client } from "../api/client";
import type { FlashReport, ScenePreview } from "../api/contract";
import type { FrameSource } from "../api/frames";
import { asProblem, type Problem } from "../api/problem";
import type { DraftScene } from "./draft_scene";

/** Screens show 60 frames a second; the hub sends no more than it is asked for. */
const RATE_HZ = 60;
/** The hub renders hundreds of instants for the figures, so a scene that is being changed waits. */
const SETTLED_MS = 400;

export class Preview {
  scene = $state.raw<DraftScene | null>(null);
  /** Null until the hub has looked the scene through. */
  figures = $state.raw<ScenePreview | null>(null);
  /** Null until the hub has looked the scene through for flashes, which takes longest. */
  flash = $state.raw<FlashReport | null>(null);
  problem = $state.raw<Problem | null>(null);
  /** Frames of the scene; null where none is looked at. */
  source = $derived.by<FrameSource | null>(() => {
    const { scene } = this;
    if (scene === null) return null;
    return {
      rateHz: RATE_HZ,
      open: (rateHz, signal) => this.client.stream(`${this.root}/previews/frames?rate_hz=${rateHz}`, signal, scene),
    };
  });
  private asked: AbortController | null = null;

  constructor(
    private readonly client: Client,
    private readonly root: string,
  ) {}

  /** Figures and problem of the scene before stay until this one has its own; what it says of flashes does not. */
  look(scene: DraftScene): void {
    this.asked?.abort();
    this.scene = scene;
    this.flash = null;
  }

  leave(): void {
    this.asked?.abort();
    this.scene = this.figures = this.flash = this.problem = null;
  }

  /** Its first frame was shown: the hub has nothing against it, and is asked for its figures if it stays for a while. */
  shown(): void {
    this.problem = null;
    const { scene } = this;
    setTimeout(() => this.scene === scene && void this.loadFigures(), SETTLED_MS);
  }

  lost(problem: Problem): void {
    this.problem = problem;
    if (problem.refused) this.figures = null;
  }

  private async loadFigures(): Promise<void> {
    const { scene } = this;
    const asked = (this.asked = new AbortController());
    try {
      const figures = await this.client.post<ScenePreview>(`${this.root}/previews`, scene, asked.signal);
      if (asked.signal.aborted) return;
      this.figures = figures;
      const flash = await this.client.post<FlashReport>(`${this.root}/previews/flash`, scene, asked.signal);
      if (!asked.signal.aborted) this.flash = flash;
    } catch (error) {
      if (!asked.signal.aborted) this.lost(asProblem(error));
    }
  }
}
