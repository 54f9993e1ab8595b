import type { Ahead } from "../protocol/model";

/** Whether a row is heard in the current cue, enters in the next, or neither; empty while no running order counts. */
export type CueState = "live" | "next" | "idle" | "";

export function cueState(ahead: Ahead, number: number): CueState {
  if (ahead.show.phase !== "running") return "";
  if (ahead.on_air.includes(number)) return "live";
  return ahead.cues[1]?.entering.includes(number) ? "next" : "idle";
}
