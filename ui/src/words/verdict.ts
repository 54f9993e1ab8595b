import { ageWords } from "../pure/number_words";
import { isGood } from "../pure/reading";
import type { LiveRow } from "../pure/row";
import { words } from "./english";

const DAMAGED = 0.02;
const CLIP_DBFS = -1;

/** Why a row that reports is not heard, as far as it says so; empty while its sound is open. */
export function silenceWords(live: LiveRow): string {
  if (live.packSwitch === "muted" || live.packSwitch === "off") return words.packSwitches[live.packSwitch];
  if (live.audioState !== "" && live.audioState !== "open")
    return words.audioStates[live.audioState] ?? live.audioState;
  return live.packSwitch === "talkback" ? words.packSwitches.talkback : "";
}

/** A row in one or two words, the most pressing first. `trouble` is what a matter says of it, or empty. */
export function verdictOf(live: LiveRow, trouble: string): string {
  if (live.state === "no report") return words.noReportShort(ageWords(live.silentS));
  if (live.state !== "on air" && live.state !== "spare") return words.state[live.state];
  if (trouble !== "") return trouble;
  if (isGood(live.damage) && live.damage.value >= DAMAGED) return words.damaged;
  const deaf = live.branches.filter((branch) => branch.deaf).map((branch) => branch.label);
  if (deaf.length > 0) return words.deafOn(deaf.join(", "));
  const silence = silenceWords(live);
  if (silence !== "") return silence;
  if (!live.analog && isGood(live.peak) && live.peak.value >= CLIP_DBFS) return words.clipping;
  return live.state === "spare" ? words.state.spare : words.good;
}
