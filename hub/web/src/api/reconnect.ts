/** Keeps a stream open: reads it, and opens it again with growing, jittered pauses when it ends, fails or goes quiet. */

import { asProblem, type Problem } from "./problem";

export interface Watch {
  open: (signal: AbortSignal) => Promise<ReadableStream<Uint8Array>>;
  /** Called once for every opening; what it returns takes the bytes. */
  opened: () => (chunk: Uint8Array) => void;
  lost: (problem: Problem) => void;
  quietMs: number;
  /** Whether to leave it at this; a refused token ends it in any case, since trying again cannot help. */
  givesUp?: (problem: Problem) => boolean;
}

const FIRST_PAUSE_MS = 400;
const LONGEST_PAUSE_MS = 10_000;

export function pauseMs(failures: number, random: number): number {
  return Math.min(LONGEST_PAUSE_MS, FIRST_PAUSE_MS * 2 ** Math.min(failures, 10)) * (0.5 + random / 2);
}

/** Starts reading; the returned function stops it. */
export function keepReading(watch: Watch): () => void {
  const stop = new AbortController();
  void (async () => {
    let failures = 0;
    while (!stop.signal.aborted) {
      try {
        await readOnce(watch, stop.signal, () => (failures = 0));
      } catch (error) {
        if (stop.signal.aborted) return;
        const problem = asProblem(error);
        watch.lost(problem);
        if (problem.unauthorised || watch.givesUp?.(problem)) return;
      }
      await pause(pauseMs(failures++, Math.random()), stop.signal);
    }
  })();
  return () => stop.abort();
}

async function readOnce(watch: Watch, stopped: AbortSignal, delivered: () => void): Promise<void> {
  const quiet = new AbortController();
  let timer = setTimeout(() => quiet.abort(), watch.quietMs);
  try {
    const stream = await watch.open(AbortSignal.any([stopped, quiet.signal]));
    const take = watch.opened();
    const reader = stream.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) throw new Error("the hub closed the stream");
      clearTimeout(timer);
      timer = setTimeout(() => quiet.abort(), watch.quietMs);
      try {
        take(value);
      } catch (error) {
        quiet.abort();
        throw error;
      }
      delivered();
    }
  } finally {
    clearTimeout(timer);
  }
}

function pause(ms: number, signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const timer = setTimeout(resolve, ms);
    signal.addEventListener("abort", () => (clearTimeout(timer), resolve()), { once: true });
  });
}
