/** The look of a control: what the device reported, what was asked of it, and what became of that. */

import type { Command } from "../protocol/model";

type Value = boolean | number | string;

export type Look = "resting" | "requested" | "unknown" | "refused" | "confirmed";

export interface ControlLook {
  readonly look: Look;
  /** What was asked, where that is still open or was not done. */
  readonly asked: Value | null;
  /** The device's or the console's reason, or empty. */
  readonly reason: string;
}

const OPEN: ReadonlySet<Command["state"]> = new Set([
  "requested",
  "sent",
  "accepted",
  "waiting for wake",
  "waiting for a hand",
]);
const NOT_DONE: ReadonlySet<Command["state"]> = new Set(["refused", "partly done", "expired", "not applied"]);

const RESTING: ControlLook = { look: "resting", asked: null, reason: "" };

/** The look that the latest command on a field gives its control; `dismissed` once somebody has seen a refusal. */
export function controlLook(field: string, command: Command | null, dismissed: boolean): ControlLook {
  const asked = command?.changes[field];
  if (command === null || asked === undefined) return RESTING;
  if (OPEN.has(command.state)) return { look: "requested", asked, reason: command.reason };
  if (command.state === "unknown") return { look: "unknown", asked, reason: command.reason };
  if (command.state === "confirmed") return { look: "confirmed", asked: null, reason: "" };
  if (!NOT_DONE.has(command.state) || dismissed) return RESTING;
  const outcome = command.outcomes.find((one) => one.field === field);
  if (command.state === "partly done" && outcome?.done === true) return { look: "confirmed", asked: null, reason: "" };
  return { look: "refused", asked, reason: outcome?.reason || command.reason };
}

/** The latest command that asks for a field of a target; `commands` in the order in which they last changed. */
export function latestCommand(commands: Iterable<Command>, target: string, field: string): Command | null {
  let latest: Command | null = null;
  for (const command of commands) {
    if (command.target !== target || !(field in command.changes)) continue;
    if (latest === null || command.requested_utc_us >= latest.requested_utc_us) latest = command;
  }
  return latest;
}
