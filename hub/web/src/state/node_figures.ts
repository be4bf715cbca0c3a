/** What a node says of itself, in groups as its sheet has them; what it does not tell is left out. */

import type { NodeState } from "../api/contract";
import { celsius, dateTime, duration, hertz, milliseconds, percent } from "../format";

export interface NodeFigure {
  name: string;
  value: string;
  /** Whether it needs attention. */
  bad: boolean;
}

export interface FigureGroup {
  title: string;
  figures: NodeFigure[];
}

const CLOCKS: Record<NonNullable<NodeState["clock_source"]>, string> = {
  hub: "exchanges with the hub",
  disciplined: "its own clock, kept by time synchronisation",
  wall: "its own clock, which nobody vouches for",
  kept: "the last time known, plus uptime",
};

const STARTS: Record<NonNullable<NonNullable<NodeState["board"]>["start_cause"]>, string> = {
  first: "it never ran before",
  power: "no power, or a reset",
  reboot: "the board was shut down in order",
  restart: "the agent was restarted",
  crash: "the agent ended without a word",
  unknown: "not known",
};

export function figuresOfNode(node: NodeState): FigureGroup[] {
  const { board } = node;
  const groups: [string, (NodeFigure | null)[]][] = [
    [
      "Light",
      [
        figure("Revision showing", node.revision_showing, String),
        figure("Frames", node.frame_rate_hz, (rate) => (node.frame_rate_target_hz === null ? hertz(rate) : `${hertz(rate)} of ${hertz(node.frame_rate_target_hz)}`)),
        figure("Late since its start", node.late_frames, String),
        figure("Time for a frame", node.render_ms, milliseconds),
      ],
    ],
    [
      "Board",
      [
        figure("Heat", node.temperature_c, celsius),
        flag("Slowed down", board?.throttled),
        flag("Its own supply too low", board?.under_voltage),
        figure("Processor busy", board?.processor_share, percent),
        figure("Memory free", board?.memory_free_share, percent),
        figure("Disk free", board?.disk_free_share, percent),
        figure("Disk life used", board?.disk_worn_share, percent),
        flag("Disk no longer written", board?.disk_read_only),
      ],
    ],
    [
      "Link",
      [
        figure("Last heard", node.heard_at_ms, dateTime),
        figure("Kind", board?.link, String),
        figure("Signal", board?.signal_dbm, (dbm) => `${dbm.toFixed(0).replace("-", "−")} dBm`),
        figure("Speed", board?.link_mbit_per_s, (speed) => `${+speed.toFixed(1)} Mbit/s`),
        figure("Connections since its start", board?.reconnects, String),
        figure("Messages it refused", node.rejected_messages, String, (count) => count > 0),
      ],
    ],
    [
      "Agent",
      [
        figure("Version", node.agent_version, String),
        figure("Running for", node.uptime_s, duration),
        figure("Starts on this disk", board?.starts, String),
        figure("Why it last started", board?.start_cause, (cause) => STARTS[cause]),
        figure("Errors since its start", board?.errors, String, (count) => count > 0),
      ],
    ],
    [
      "Clock",
      [
        figure("Largest likely error", node.clock_dispersion_ms, milliseconds),
        figure("Its clock loses", node.clock_drift_ppm, (drift) => `${drift.toFixed(1).replace("-", "−")} ppm`),
        figure("Rests on", node.clock_source, (source) => CLOCKS[source]),
      ],
    ],
  ];
  return groups.flatMap(([title, figures]) => {
    const told = figures.filter((each) => each !== null);
    return told.length ? [{ title, figures: told }] : [];
  });
}

function figure<Value>(name: string, value: Value | null | undefined, write: (value: Value) => string, bad: (value: Value) => boolean = () => false): NodeFigure | null {
  return value === null || value === undefined ? null : { name, value: write(value), bad: bad(value) };
}

function flag(name: string, value: boolean | null | undefined): NodeFigure | null {
  return figure(name, value, (is) => (is ? "yes" : "no"), (is) => is);
}

