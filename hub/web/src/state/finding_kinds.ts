/** What can be wrong, by the hub's words for it. */

import type { Finding } from "../api/contract";

// Typed by the API's document, so that a kind which it does not know, or no longer knows, is told when the page is built.
const NAMED: Record<Finding["kind"], true> = {
  silent: true,
  overloaded: true,
  limited: true,
  slow: true,
  behind: true,
  hot: true,
  "under-volted": true,
  throttled: true,
  restarting: true,
  flapping: true,
  skewed: true,
  "clock-untrusted": true,
  "clocks-apart": true,
  "disk-full": true,
  "disk-worn": true,
  "memory-low": true,
  "weak-signal": true,
  "lost-telemetry": true,
  "unknown-node": true,
  "double-identity": true,
  "mixed-versions": true,
  "errors-logged": true,
  "hub-overrun": true,
};

export const FINDING_KINDS = Object.keys(NAMED) as readonly Finding["kind"][];
