/** Where things stand on the axis of the band *Ahead*: linear, now at the left, as shares of its width. */

const US_PER_MINUTE = 60e6;
/** The band shows at least so much; common practice. */
const LEAST_MINUTES = 30;
/** Without a running order it shows so much; common practice. */
const PLAIN_MINUTES = 240;

export interface AheadAxis {
  readonly nowUtcUs: number;
  readonly spanUs: number;
}

export interface Span {
  readonly left: number;
  readonly width: number;
}

/** The axis from now to the end of the last cue, or over four hours where nothing is planned. */
export function aheadAxis(nowUtcUs: number, endUtcUs: number | null): AheadAxis {
  if (endUtcUs === null) return { nowUtcUs, spanUs: PLAIN_MINUTES * US_PER_MINUTE };
  return { nowUtcUs, spanUs: Math.max(endUtcUs - nowUtcUs, LEAST_MINUTES * US_PER_MINUTE) };
}

/** The share at which a moment stands; may lie outside 0 to 1. */
export function shareOf(axis: AheadAxis, utcUs: number): number {
  return (utcUs - axis.nowUtcUs) / axis.spanUs;
}

/** The visible part of a time, or null where none of it is. */
export function spanOf(axis: AheadAxis, beginsUtcUs: number, endsUtcUs: number): Span | null {
  const left = Math.max(shareOf(axis, beginsUtcUs), 0);
  const right = Math.min(shareOf(axis, endsUtcUs), 1);
  return right > left ? { left, width: right - left } : null;
}

/** Puts labels of a given width into as few lanes as they need, at most so many; -1 for those that find no place. */
export function lanesOf(lefts: readonly number[], width: number, most: number): readonly number[] {
  const ends: number[] = [];
  return lefts.map((left) => {
    let lane = ends.findIndex((end) => end <= left);
    if (lane === -1) lane = ends.length;
    if (lane >= most) return -1;
    ends[lane] = left + width;
    return lane;
  });
}
