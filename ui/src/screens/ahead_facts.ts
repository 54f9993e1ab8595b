import type { AheadCue, AheadFacts, AheadLabel } from "../elements/ahead";
import type { Ahead, Cue, CueAhead, Production, Rest, Runway } from "../protocol/model";
import { type AheadAxis, aheadAxis, lanesOf, shareOf, spanOf } from "../pure/ahead_axis";
import { clockWords, minutesWords } from "../pure/number_words";
import { aheadWords } from "../words/ahead_words";

const LABEL_SHARE = 0.5;
const LANES = 3;
const NAMES_AT_MOST = 5;
const RUNWAYS_AT_MOST = 6;
const US_PER_MINUTE = 60e6;

interface Evening {
  readonly production: Production;
  readonly ahead: Ahead;
  readonly nowUtcUs: number;
}

/** Where in the running order the evening is, in a line; empty without one. */
export function placeWords({ production, ahead }: Omit<Evening, "nowUtcUs">): string {
  const cues = production.order.cues;
  const [first] = cues;
  if (first === undefined) return "";
  if (ahead.show.phase === "over") return aheadWords.over;
  const index = cues.findIndex((cue) => cue.cue_id === ahead.show.started?.cue_id);
  const cue = cues[index];
  if (ahead.show.phase === "before" || cue === undefined) return aheadWords.first(first.name);
  const act = production.order.acts.find((one) => one.act_id === cue.act)?.name ?? "";
  return `${aheadWords.cue(act, cue.name, index + 1, cues.length)} · ${lateWords(ahead.late_s ?? 0)}`;
}

function lateWords(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  if (minutes === 0) return aheadWords.onTime;
  return minutes > 0 ? aheadWords.late(minutes) : aheadWords.early(-minutes);
}

/** What the band shows: only what asks for something. */
export function aheadFacts(evening: Evening): AheadFacts {
  const { ahead, nowUtcUs } = evening;
  const axis = aheadAxis(nowUtcUs, ahead.cues.at(-1)?.ends_utc_us ?? null);
  const labels = [...restLabels(evening, axis), ...runwayLabels(evening, axis)];
  const lanes = lanesOf(
    labels.map((label) => label.left),
    LABEL_SHARE,
    LANES,
  );
  return {
    ...steps(evening),
    dues: dues(evening),
    cues: cueBoxes(evening, axis),
    labels: labels.flatMap((label, index) => (lanes[index] === -1 ? [] : [{ ...label, lane: lanes[index] ?? 0 }])),
    more: lanes.filter((lane) => lane === -1).length,
  };
}

function nameOf({ production }: Evening, cueId: string): string {
  return production.order.cues.find((cue) => cue.cue_id === cueId)?.name ?? cueId;
}

function steps(evening: Evening): Pick<AheadFacts, "revision" | "advance" | "back"> {
  const { ahead, production } = evening;
  const cues = production.order.cues;
  const revision = ahead.show.revision;
  const [first] = cues;
  if (first === undefined) return { revision, advance: "", back: "" };
  if (ahead.show.phase === "before") return { revision, advance: aheadWords.begin(first.name), back: "" };
  const last = cues.at(-1) ?? first;
  if (ahead.show.phase === "over") return { revision, advance: "", back: aheadWords.backTo(last.name) };
  const index = cues.findIndex((cue) => cue.cue_id === ahead.show.started?.cue_id);
  const [before, after] = [cues[index - 1], cues[index + 1]];
  return {
    revision,
    advance: after === undefined ? aheadWords.advanceToEnd : aheadWords.advanceTo(after.name),
    back: before === undefined ? "" : aheadWords.backTo(before.name),
  };
}

/** Who is due in the next cue and in the one after it. */
function dues(evening: Evening): readonly (readonly [string, string])[] {
  const { ahead } = evening;
  const from = ahead.show.phase === "before" ? 0 : 1;
  const [next, then] = [ahead.cues[from], ahead.cues[from + 1]];
  const found: [string, string][] = [];
  if (next !== undefined) found.push([aheadWords.next, dueWords(evening, next)]);
  if (then !== undefined) found.push([aheadWords.later, dueWords(evening, then)]);
  return found;
}

function dueWords(evening: Evening, due: CueAhead): string {
  const minutes = (due.starts_utc_us - evening.nowUtcUs) / US_PER_MINUTE;
  const when = evening.ahead.show.phase === "before" ? clockOf(due.starts_utc_us) : aheadWords.inMinutes(minutes);
  const cue = evening.production.order.cues.find((one) => one.cue_id === due.cue_id);
  const names = due.entering.map((number) => partIn(evening.production, number, cue));
  const more = names.length > NAMES_AT_MOST ? ` ${aheadWords.more(names.length - NAMES_AT_MOST)}` : "";
  const who = names.length === 0 ? aheadWords.nobody : names.slice(0, NAMES_AT_MOST).join(", ") + more;
  return aheadWords.enters(nameOf(evening, due.cue_id), when, who);
}

function partIn(production: Production, number: number, cue?: Cue): string {
  const cast = cue?.castings.find((one) => one.number === number)?.part;
  return cast ?? production.positions.find((one) => one.number === number)?.part ?? `${number}`;
}

function who({ production }: Evening, number: number): string {
  return `${number} ${partIn(production, number)}`;
}

function cueBoxes(evening: Evening, axis: AheadAxis): readonly AheadCue[] {
  return evening.ahead.cues.flatMap((cue) => {
    const span = spanOf(axis, cue.starts_utc_us, cue.ends_utc_us);
    if (span === null) return [];
    const current = cue.cue_id === evening.ahead.show.started?.cue_id && evening.ahead.show.phase === "running";
    return [{ ...span, name: nameOf(evening, cue.cue_id), clock: clockOf(cue.starts_utc_us), current }];
  });
}

function clockOf(utcUs: number): string {
  return clockWords(utcUs).slice(0, 5);
}

type Label = Omit<AheadLabel, "lane">;

/** Planned sleeps, those that stand alike as one; of those to come only the next. */
function restLabels(evening: Evening, axis: AheadAxis): readonly Label[] {
  const groups = new Map<string, Rest[]>();
  for (const rest of evening.ahead.rests) {
    const key = `${rest.sleep_id} ${rest.phase}`;
    groups.set(key, [...(groups.get(key) ?? []), rest]);
  }
  return [...groups.values()].map((rests) => restLabel(rests, axis));
}

function restLabel(rests: readonly Rest[], axis: AheadAxis): Label {
  const [first] = rests;
  const due = first?.wake_due_utc_us ?? null;
  const clock = due === null ? "" : clockOf(due);
  const confirmed = rests.filter((rest) => rest.confirmed).length;
  const asks = first?.phase === "waking" && confirmed < rests.length;
  if (first?.phase === "coming" && first.begins_utc_us !== null) {
    const text = aheadWords.sleeps(rests.length, clockOf(first.begins_utc_us));
    return { left: clamped(shareOf(axis, first.begins_utc_us)), text, asks: false };
  }
  const say = first?.phase === "waking" ? aheadWords.waking : aheadWords.asleep;
  const left = due === null ? 0 : clamped(shareOf(axis, due));
  return { left, text: say(confirmed, rests.length, clock), asks };
}

function runwayLabels(evening: Evening, axis: AheadAxis): readonly Label[] {
  const { ahead, production } = evening;
  if (production.order.cues.length > 0)
    return ahead.runways.filter(isShort).map((one) => shortLabel(evening, axis, one));
  const known = ahead.runways.flatMap(({ number, minutes_left: left }) => (left === null ? [] : [{ number, left }]));
  const soonest = known.sort((one, other) => one.left - other.left).slice(0, RUNWAYS_AT_MOST);
  return soonest.flatMap(({ number, left }) => {
    const ends = evening.nowUtcUs + left * US_PER_MINUTE;
    if (shareOf(axis, ends) > 1) return [];
    const text = aheadWords.lasts(who(evening, number), minutesWords(left), clockOf(ends));
    return [{ left: clamped(shareOf(axis, ends)), text, asks: false }];
  });
}

function isShort(runway: Runway): boolean {
  return (runway.minutes_short ?? 0) > 0;
}

function shortLabel(evening: Evening, axis: AheadAxis, runway: Runway): Label {
  const ends = runway.ends_utc_us ?? evening.nowUtcUs;
  const where = runway.ends_in_cue === null ? "" : nameOf(evening, runway.ends_in_cue);
  const said = aheadWords.short(who(evening, runway.number), runway.minutes_short ?? 0, clockOf(ends), where);
  return { left: clamped(shareOf(axis, ends)), text: `${said} · ${swapWords(evening, runway)}`, asks: true };
}

function swapWords(evening: Evening, { swap }: Runway): string {
  if (swap === null) return aheadWords.noSwap;
  const after = swap.after_cue === null ? "" : nameOf(evening, swap.after_cue);
  return aheadWords.swapBetween(after, nameOf(evening, swap.before_cue));
}

/** A label begins where its moment is, but never so far right that it would be cut. */
function clamped(share: number): number {
  return Math.min(Math.max(share, 0), 1 - LABEL_SHARE);
}
