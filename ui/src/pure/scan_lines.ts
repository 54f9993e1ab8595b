import type { Scan, ScanComparison } from "../protocol/model";
import type { Stretch } from "./spectrum";

/** The lines of a scan as they are drawn. */
export interface ScanLines {
  readonly maximum: Stretch;
  /** Null where there was one sweep only: then half of the time and how often say nothing. */
  readonly median: Stretch | null;
  readonly occupancy: Stretch | null;
}

export function linesOf(scan: Scan): ScanLines {
  const line = (levels: readonly (number | null)[]): Stretch => ({
    start_hz: scan.start_hz,
    step_hz: scan.step_hz,
    levels_dbm: numbers(levels, 1),
  });
  const many = scan.sweeps > 1;
  return {
    maximum: line(scan.maximum_dbm),
    median: many ? line(scan.median_dbm) : null,
    occupancy: many ? line(scan.occupancy) : null,
  };
}

/** By how much it is more now, and by how much it was more then. */
export function changesOf(comparison: ScanComparison): { readonly rise: Stretch; readonly fall: Stretch } {
  const { start_hz, step_hz, difference_db } = comparison;
  return {
    rise: { start_hz, step_hz, levels_dbm: numbers(difference_db, 1) },
    fall: { start_hz, step_hz, levels_dbm: numbers(difference_db, -1) },
  };
}

function numbers(values: readonly (number | null)[], sign: 1 | -1): Float32Array {
  return Float32Array.from(values, (value) => (value === null ? Number.NaN : sign * value));
}

/** Stretches of one step as one line, as a scan finds them one after the other; null where there is none yet. */
export function joined(stretches: readonly Stretch[]): Stretch | null {
  const [first] = stretches;
  if (first === undefined) return null;
  const start_hz = Math.min(...stretches.map((one) => one.start_hz));
  const stop_hz = Math.max(...stretches.map((one) => one.start_hz + (one.levels_dbm.length - 1) * one.step_hz));
  const levels = new Float32Array(Math.round((stop_hz - start_hz) / first.step_hz) + 1).fill(Number.NaN);
  for (const one of stretches) {
    const offset = Math.round((one.start_hz - start_hz) / first.step_hz);
    for (let index = 0; index < one.levels_dbm.length; index += 1) {
      const level = one.levels_dbm[index] ?? Number.NaN;
      const known = levels[offset + index] ?? Number.NaN;
      if (!(known >= level)) levels[offset + index] = level;
    }
  }
  return { start_hz, step_hz: first.step_hz, levels_dbm: levels };
}
