import { AXIS_END_S, ageAt, axisPosition } from "./age_axis";
import { BINS_PER_LEVEL, type Bins, binSeconds, LEVELS, type Sample } from "./bins";

/** One row of the recent past as the console sends it: cells in even steps along the strand's axis, now first. */
export interface RecentRow {
  readonly median: ArrayLike<number>;
  readonly worst: ArrayLike<number>;
  readonly damage: ArrayLike<number>;
  readonly speech: ArrayLike<number>;
  readonly reported: ArrayLike<number>;
  readonly deaf: ArrayLike<number>;
}

/** A cell counts as reported when at least this share of its time was. */
const REPORTED_SHARE = 0.34;

/** Fills a row's empty bins from the recent past as it was at `at` seconds; what the row already holds stays. */
export function backfill(bins: Bins, recent: RecentRow, at: number): void {
  for (let level = 0; level < LEVELS; level += 1) {
    const width = binSeconds(level);
    const newest = Math.floor(at / width);
    for (let back = 0; back < BINS_PER_LEVEL; back += 1) {
      const middle = (newest - back + 0.5) * width;
      const age = Math.max(at - middle, 0);
      if (age >= AXIS_END_S) break;
      fillOne(bins, recent, level, middle, age);
    }
  }
  bins.lastAt = Math.max(bins.lastAt, lastReport(recent, at));
}

function fillOne(bins: Bins, recent: RecentRow, level: number, middle: number, age: number): void {
  if (bins.slotAt(level, middle) !== -1) return;
  const sample = sampleOf(recent, cellAt(recent, age));
  if (sample !== null) bins.put(level, middle, sample, 1);
}

function cellAt(recent: RecentRow, age: number): number {
  return Math.min(Math.floor(axisPosition(age) * recent.median.length), recent.median.length - 1);
}

function sampleOf(recent: RecentRow, cell: number): Sample | null {
  if ((recent.reported[cell] ?? 0) < REPORTED_SHARE) return null;
  return {
    median: recent.median[cell] ?? Number.NaN,
    worst: recent.worst[cell] ?? Number.NaN,
    damage: recent.damage[cell] ?? 0,
    speech: recent.speech[cell] ?? 0,
    deaf: recent.deaf[cell] ?? 0,
  };
}

/** The nearest moment that was reported, or −∞. */
function lastReport(recent: RecentRow, at: number): number {
  const cells = recent.reported.length;
  for (let cell = 0; cell < cells; cell += 1) {
    if ((recent.reported[cell] ?? 0) >= REPORTED_SHARE) return at - ageAt(cell / cells);
  }
  return Number.NEGATIVE_INFINITY;
}
