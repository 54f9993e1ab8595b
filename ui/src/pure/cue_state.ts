import type { Ahead } from "../protocol/model";

/** Whether a row is heard in the current cue, enters in the next, or neither; empty while no running order counts. */
export type CueState = "live" | "next" | "idle" | "";

export function cueState(ahead: Ahead, number: number): CueState {
  if (ahead.show.phase !== "running") return "";
  if (ahead.on_air.includes(number)) return "live";
  return ahead.cues[1]?.entering.includes(number) ? "next" : "idle";
}

/** The minutes that a row's cells must still last; NaN where no running order says so. */
export function neededMinutes(ahead: Ahead | undefined, number: number): number {
  return ahead?.runways.find((one) => one.number === number)?.minutes_needed ?? Number.NaN;
}
