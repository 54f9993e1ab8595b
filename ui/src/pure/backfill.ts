import { AXIS_END_S, ageAt, axisPosition } from "./age_axis";
import { BINS_PER_LEVEL, type Bins, BRIDGED_S, binSeconds, LEVELS, type Sample } from "./bins";

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
export const REPORTED_SHARE = 0.34;

/** Fills a row's empty bins from the recent past as it was at `at` seconds; what the row already holds stays. */
export function backfill(bins: Bins, recent: RecentRow, at: number): void {
  const newestCell = firstReported(recent);
  if (newestCell === -1) return;
  for (let level = 0; level < LEVELS; level += 1) {
    const width = binSeconds(level);
    const newest = Math.floor(at / width);
    for (let back = 0; back < BINS_PER_LEVEL; back += 1) {
      const middle = (newest - back + 0.5) * width;
      const age = Math.max(at - middle, 0);
      if (age >= AXIS_END_S) break;
      fillOne(bins, recent, level, { middle, cell: Math.max(cellAt(recent, age), bridged(recent, newestCell)) });
    }
  }
  bins.lastAt = Math.max(bins.lastAt, at - ageAt(newestCell / recent.reported.length));
  bins.firstAt = Math.min(bins.firstAt, at - ageAt((lastReported(recent) + 1) / recent.reported.length));
}

/** The newest cells hold little time yet; where a report is near, they are taken from it. */
function bridged(recent: RecentRow, newestCell: number): number {
  return ageAt(newestCell / recent.reported.length) <= BRIDGED_S ? newestCell : 0;
}

interface Bin {
  readonly middle: number;
  readonly cell: number;
}

function fillOne(bins: Bins, recent: RecentRow, level: number, { middle, cell }: Bin): void {
  if (bins.slotAt(level, middle) !== -1) return;
  const sample = sampleOf(recent, cell);
  if (sample !== null) bins.put(level, middle, sample, 1);
}

function cellAt(recent: RecentRow, age: number): number {
  return Math.min(Math.floor(axisPosition(age) * recent.median.length), recent.median.length - 1);
}

function sampleOf(recent: RecentRow, cell: number): Sample | null {
  if (!isReported(recent, cell)) return null;
  return {
    median: recent.median[cell] ?? Number.NaN,
    worst: recent.worst[cell] ?? Number.NaN,
    damage: recent.damage[cell] ?? 0,
    speech: recent.speech[cell] ?? 0,
    deaf: recent.deaf[cell] ?? 0,
  };
}

function isReported(recent: RecentRow, cell: number): boolean {
  return (recent.reported[cell] ?? 0) >= REPORTED_SHARE;
}

/** The newest cell that was reported, or −1. */
function firstReported(recent: RecentRow): number {
  for (let cell = 0; cell < recent.reported.length; cell += 1) if (isReported(recent, cell)) return cell;
  return -1;
}

/** The oldest cell that was reported, or −1. */
function lastReported(recent: RecentRow): number {
  for (let cell = recent.reported.length - 1; cell >= 0; cell -= 1) if (isReported(recent, cell)) return cell;
  return -1;
}
