import type { Run } from "./damaged_runs";

/** Cells older than this are too wide to tell what befell several rows at once from what only fell near. */
const COMPARABLE_SHARE = 0.66;

/** The runs of cells without report that lie between reports, as far back as they can be compared between rows. */
export function silentRuns(reported: ArrayLike<number>, least: number): Run[] {
  const runs: Run[] = [];
  const end = Math.floor(reported.length * COMPARABLE_SHARE);
  let first = -1;
  let heard = false;
  for (let cell = 0; cell < end; cell += 1) {
    if ((reported[cell] ?? 0) < least) {
      if (heard && first === -1) first = cell;
      continue;
    }
    if (first !== -1) runs.push({ first, last: cell - 1 });
    first = -1;
    heard = true;
  }
  return runs;
}
