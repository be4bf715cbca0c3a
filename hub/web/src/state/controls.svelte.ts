/** The controls for the person on the spot: each asks the hub at once, for nothing beforehand, and tells what came of it. */

import { createContext } from "svelte";
import type { Client } from "../api/client";
import type { ControlAnswer, Rollout } from "../api/contract";
import { asProblem, type Problem } from "../api/problem";
import { CONTROL_KEYS, controlOf, takesText, type Control } from "./control_keys";

const KEPT = "stringcourse.keys";
/** A second press so soon is a slip of the finger. */
const SLIP_MS = 400;

export type Asked = Control | "follow-timetable";

export interface Told {
  asked: Asked;
  at: number;
  answer: ControlAnswer | null;
  problem: Problem | null;
}

export class Controls {
  /** Those that were asked for and not yet answered. */
  asking = $state.raw<ReadonlySet<Asked>>(new Set());
  told = $state.raw<Told | null>(null);
  /** Whether letters on the keyboard work them (WCAG 2.2, 2.1.4: they can be turned off). */
  keysAct = $state(localStorage.getItem(KEPT) !== "off");
  private readonly pressedAt = new Map<Asked, number>();

  constructor(
    private readonly client: Client,
    private readonly root: string,
    private readonly rolledOut: (rollout: Rollout) => void,
  ) {}

  /** Listens to the keyboard until the returned function is called. */
  listen(): () => void {
    const key = (event: KeyboardEvent): void => {
      const control = this.keysAct ? controlOf(event, takesText(event.target)) : null;
      if (control === null) return;
      event.preventDefault();
      void this.press(control);
    };
    addEventListener("keydown", key);
    return () => removeEventListener("keydown", key);
  }

  letKeysAct(act: boolean): void {
    this.keysAct = act;
    localStorage.setItem(KEPT, act ? "on" : "off");
  }

  async press(asked: Asked): Promise<void> {
    const now = performance.now();
    if (this.asking.has(asked) || now - (this.pressedAt.get(asked) ?? -Infinity) < SLIP_MS) return;
    this.pressedAt.set(asked, now);
    this.asking = new Set([...this.asking, asked]);
    try {
      const answer = await this.client.post<ControlAnswer>(`${this.root}/controls/${asked}`);
      this.told = { asked, at: Date.now(), answer, problem: null };
      this.rolledOut(answer.rollout);
    } catch (error) {
      this.told = { asked, at: Date.now(), answer: null, problem: asProblem(error) };
    }
    this.asking = new Set([...this.asking].filter((each) => each !== asked));
  }
}

export const askedName = (asked: Asked): string => CONTROL_KEYS.find(({ control }) => control === asked)?.name ?? "Timetable";

/** The controls of the page's venue, for whatever lies over it. */
export const [controlsHere, setControlsHere] = createContext<Controls>();
