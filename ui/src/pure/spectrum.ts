/** What a scan found, put into the columns of a picture. */

export interface Stretch {
  readonly start_hz: number;
  readonly step_hz: number;
  readonly levels_dbm: readonly (number | null)[];
}

export interface Span {
  readonly fromHz: number;
  readonly toHz: number;
}

/** The span that holds every measured level, or null where there is none. */
export function spanOf(stretches: readonly Stretch[]): Span | null {
  let [fromHz, toHz] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { start_hz, step_hz, levels_dbm } of stretches) {
    if (levels_dbm.length === 0) continue;
    fromHz = Math.min(fromHz, start_hz);
    toHz = Math.max(toHz, start_hz + step_hz * (levels_dbm.length - 1));
  }
  return fromHz <= toHz ? { fromHz, toHz } : null;
}

/** The greatest level in each of so many columns across a span; NaN where nothing was measured. A narrow peak stays. */
export function columnLevels(stretches: readonly Stretch[], span: Span, columns: number): Float32Array {
  const levels = new Float32Array(columns).fill(Number.NaN);
  const width = Math.max(span.toHz - span.fromHz, 1);
  for (const { start_hz, step_hz, levels_dbm } of stretches) {
    for (const [index, level] of levels_dbm.entries()) {
      if (level === null) continue;
      const share = (start_hz + index * step_hz - span.fromHz) / width;
      const column = Math.min(Math.floor(share * columns), columns - 1);
      if (column < 0) continue;
      const known = levels[column] ?? Number.NaN;
      if (!(known >= level)) levels[column] = level;
    }
  }
  return levels;
}
