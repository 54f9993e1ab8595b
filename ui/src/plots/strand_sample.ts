import { type Bins, BRIDGED_S, binSeconds } from "../pure/bins";
import type { StrandAxis } from "./strand_axis";

/** One pixel column of a strand. Reused for column after column, so that drawing makes no garbage. */
export interface Column {
  reported: boolean;
  /** Whether this was before anything is known of the row. */
  before: boolean;
  median: number;
  worst: number;
  damage: number;
  speech: number;
  deaf: number;
}

export function emptyColumn(): Column {
  return { reported: false, before: false, median: Number.NaN, worst: Number.NaN, damage: 0, speech: 0, deaf: 0 };
}

/** Finds what a row reported in the time of one pixel column, `now` being in seconds of the console's clock. */
export function sampleColumn(bins: Bins, axis: StrandAxis, x: number, now: number, column: Column): void {
  column.reported = false;
  const near = axis.near[x] ?? 0;
  const far = axis.far[x] ?? 0;
  const end = now - near;
  const start = now - far;
  column.before = start <= bins.firstAt;
  if (start > bins.lastAt) {
    if (now - bins.lastAt <= BRIDGED_S) takeSpan(bins, 0, bins.lastAt, bins.lastAt, column);
    return;
  }
  const level = axis.level[x] ?? 0;
  takeSpan(bins, level, start, Math.min(end, bins.lastAt), column);
  if (column.reported) column.median = interpolated(bins, level, (start + end) / 2, column.median);
}

function takeSpan(bins: Bins, level: number, start: number, end: number, column: Column): void {
  const width = binSeconds(level);
  column.worst = Number.NaN;
  column.damage = 0;
  let speech = 0;
  let count = 0;
  const last = Math.floor(end / width);
  for (let bin = Math.floor(start / width); bin <= last; bin += 1) {
    const slot = bins.slotOf(level, bin);
    if (slot === -1) continue;
    count += 1;
    column.median = bins.median[slot] ?? Number.NaN;
    const worst = bins.worst[slot] ?? Number.NaN;
    if (!(column.worst <= worst)) column.worst = worst;
    column.damage = Math.max(column.damage, bins.damage[slot] ?? 0);
    speech += bins.speech[slot] ?? 0;
    column.deaf = bins.deaf[slot] ?? 0;
  }
  column.reported = count > 0;
  column.speech = count > 0 ? speech / count : 0;
}

/** The level at a moment between the middles of two neighbouring bins, so that the line doesn't step. */
function interpolated(bins: Bins, level: number, at: number, fallback: number): number {
  const width = binSeconds(level);
  const position = at / width - 0.5;
  const bin = Math.floor(position);
  const before = bins.slotOf(level, bin);
  const after = bins.slotOf(level, bin + 1);
  const one = before === -1 ? Number.NaN : (bins.median[before] ?? Number.NaN);
  const other = after === -1 ? Number.NaN : (bins.median[after] ?? Number.NaN);
  if (Number.isNaN(one)) return Number.isNaN(other) ? fallback : other;
  if (Number.isNaN(other)) return one;
  return one + (other - one) * (position - bin);
}
