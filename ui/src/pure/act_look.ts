/** The look of an act: what was asked, how far it is, what came of it. */

import type { Command, CommandState } from "../protocol/model";

export type ActPhase = "resting" | "running" | "done" | "not done" | "unknown";

const RUNNING: ReadonlySet<CommandState> = new Set([
  "requested",
  "sent",
  "accepted",
  "waiting for wake",
  "waiting for a hand",
]);
const OVER_IN_SILENCE: ReadonlySet<CommandState> = new Set(["superseded", "closed"]);

/** The latest command that is this act on this thing, or null. */
export function latestAct(commands: Iterable<Command>, target: string, act: string): Command | null {
  let latest: Command | null = null;
  for (const command of commands) {
    if (command.target !== target || command.act !== act) continue;
    if (latest === null || command.requested_utc_us >= latest.requested_utc_us) latest = command;
  }
  return latest;
}

/** What the latest command makes of an act; `dismissed` once somebody has seen how it ended. */
export function actPhase(command: Command | null, dismissed: boolean): ActPhase {
  if (command === null) return "resting";
  if (RUNNING.has(command.state)) return "running";
  if (command.state === "unknown") return "unknown";
  if (dismissed || OVER_IN_SILENCE.has(command.state)) return "resting";
  return command.state === "confirmed" ? "done" : "not done";
}
