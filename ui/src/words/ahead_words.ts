import type { ShowMoved } from "../protocol/events";
import { minutesWords } from "../pure/number_words";

/** Words of the running order: the head's line and the band *Ahead*. */
export const aheadWords = {
  band: "Ahead",
  now: "now",
  next: "Next",
  later: "Then",
  nobody: "nobody new",
  before: "before the show",
  over: "the running order is over",
  cue: (act: string, cue: string, index: number, of: number) =>
    act === cue ? `${act} · cue ${index} of ${of}` : `${act} · ${cue} · cue ${index} of ${of}`,
  first: (cue: string) => `before the show · first ${cue}`,
  late: (minutes: number) => `${minutes} min late`,
  early: (minutes: number) => `${minutes} min early`,
  onTime: "on time",
  more: (count: number) => `and ${count} more`,
  inMinutes: (minutes: number) => (minutes < 1 ? "now due" : `in ${minutesWords(minutes)}`),
  enters: (cue: string, when: string, who: string) => `${cue}, ${when}: ${who}`,
  advanceTo: (cue: string) => `On to ${cue}`,
  advanceToEnd: "End the show",
  begin: (cue: string) => `Begin ${cue}`,
  backTo: (cue: string) => `Back to ${cue}`,
  sleeps: (count: number, clock: string) => `${packs(count)} to sleep ${clock}`,
  asleep: (confirmed: number, count: number, clock: string) =>
    `${confirmed} of ${packs(count)} asleep${clock === "" ? "" : `, wake ${clock}`}`,
  waking: (confirmed: number, count: number, clock: string) =>
    `${confirmed} of ${packs(count)} awake${clock === "" ? "" : `, due ${clock}`}`,
  short: (who: string, minutes: number, clock: string, where: string) =>
    `${who} ends ${clock}${where === "" ? "" : ` in ${where}`}, ${minutesWords(minutes)} short`,
  swapBetween: (after: string, before: string) => (after === "" ? `swap now, before ${before}` : `swap after ${after}`),
  noSwap: "never off stage before",
  lasts: (who: string, left: string, clock: string) => `${who} lasts ${left}, to ${clock}`,
  moved: "The show clock has moved.",
  notMoved: "The show clock could not be moved.",
  changedMeanwhile: "Somebody else moved the show clock; look at where it stands.",
};

function packs(count: number): string {
  return count === 1 ? "1 pack" : `${count} packs`;
}

/** What moved the show clock, in a sentence. */
export function showMovedWords(event: ShowMoved): string {
  const by = event.by === "" ? "" : ` · ${event.by}`;
  const cue = event.show.started?.cue_id ?? "";
  if (event.show.phase === "before") return `show clock back to before the show${by}`;
  if (event.show.phase === "over") return `show clock to the end${by}`;
  return `show clock to cue ${cue}${by}`;
}
