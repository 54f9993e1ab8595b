/** What a scan found, put into the columns of a picture. */

/** Levels at `start_hz` and every `step_hz` above it; null, or no number, where nothing was measured. */
export interface Stretch {
  readonly start_hz: number;
  readonly step_hz: number;
  readonly levels_dbm: ArrayLike<number | null>;
}

export interface Span {
  readonly fromHz: number;
  readonly toHz: number;
}

/** The span that holds every measured level, each half a step wide to both sides, or null where there is none. */
export function spanOf(stretches: readonly Stretch[]): Span | null {
  let [fromHz, toHz] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { start_hz, step_hz, levels_dbm } of stretches) {
    if (levels_dbm.length === 0) continue;
    fromHz = Math.min(fromHz, start_hz - step_hz / 2);
    toHz = Math.max(toHz, start_hz + step_hz * (levels_dbm.length - 0.5));
  }
  return fromHz <= toHz ? { fromHz, toHz } : null;
}

/** The greatest level in each of so many columns across a span; NaN where nothing was measured. A narrow peak stays. */
export function columnLevels(stretches: readonly Stretch[], span: Span, columns: number): Float32Array {
  const levels = new Float32Array(columns).fill(Number.NaN);
  for (const stretch of stretches) takeGreatest(levels, stretch, span);
  return levels;
}

/**
 * Raises the columns of a span to the greatest level of a stretch that touches each.
 *
 * A level holds for the whole of its step, so that a view of a few points shows them as steps and not as needles.
 */
export function takeGreatest(columns: Float32Array, stretch: Stretch, span: Span): void {
  const { start_hz, step_hz, levels_dbm } = stretch;
  const perColumn = (span.toHz - span.fromHz) / columns.length;
  if (!(perColumn > 0) || levels_dbm.length === 0) return;
  const first = (span.fromHz - start_hz) / step_hz + 0.5;
  const points = perColumn / step_hz;
  for (let column = 0; column < columns.length; column += 1) {
    const from = Math.max(Math.floor(first + column * points), 0);
    const until = Math.min(Math.ceil(first + (column + 1) * points), levels_dbm.length);
    let greatest = columns[column] ?? Number.NaN;
    for (let index = from; index < until; index += 1) {
      const level = levels_dbm[index] ?? Number.NaN;
      if (!(level <= greatest) && !Number.isNaN(level)) greatest = level;
    }
    columns[column] = greatest;
  }
}

/** The level of a stretch at a frequency, or null where none was measured. */
export function levelAt({ start_hz, step_hz, levels_dbm }: Stretch, hertz: number): number | null {
  const level = levels_dbm[Math.round((hertz - start_hz) / step_hz)] ?? Number.NaN;
  return Number.isNaN(level) ? null : level;
}
