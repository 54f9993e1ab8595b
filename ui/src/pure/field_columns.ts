import type { Span } from "./spectrum";

/** The product field put into the columns of a picture: the mean of each column, and its most. */
export interface FieldColumns {
  readonly mean: Float32Array;
  readonly most: Float32Array;
}

/** Counts at `start_hz` and every `step_hz` above it. */
export interface FieldCounts {
  readonly start_hz: number;
  readonly step_hz: number;
  readonly counts: ArrayLike<number>;
}

/** Mean and most of each column; a column narrower than a step has the count of its nearest point. */
export function fieldColumns({ start_hz, step_hz, counts }: FieldCounts, view: Span, columns: number): FieldColumns {
  const mean = new Float32Array(columns);
  const most = new Float32Array(columns);
  const points = (view.toHz - view.fromHz) / columns / step_hz;
  const first = (view.fromHz - start_hz) / step_hz + 0.5;
  for (let column = 0; column < columns; column += 1) {
    const from = Math.floor(first + column * points);
    const until = Math.max(Math.floor(first + (column + 1) * points), from + 1);
    let [sum, greatest] = [0, 0];
    for (let index = Math.max(from, 0); index < Math.min(until, counts.length); index += 1) {
      const count = counts[index] ?? 0;
      sum += count;
      if (count > greatest) greatest = count;
    }
    mean[column] = sum / (until - from);
    most[column] = greatest;
  }
  return { mean, most };
}

/** How deep a count hangs, 0 to 1, where `most` hangs deepest: by its logarithm, so that few stay visible beside many. */
export function depthOf(count: number, most: number): number {
  return count <= 0 ? 0 : Math.log1p(count) / Math.log1p(Math.max(most, 1));
}
