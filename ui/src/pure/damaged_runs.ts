/** Neighbouring cells of the recent past that hold damage, by the numbers of their first and last. */
export interface Run {
  readonly first: number;
  readonly last: number;
}

/** Cells older than this are too wide to tell what befell several rows at once from what only fell near. */
const COMPARABLE_SHARE = 0.66;

/** The runs of cells whose damage is at least `least`, as far back as they can be compared between rows. */
export function damagedRuns(damage: ArrayLike<number>, least: number): Run[] {
  const runs: Run[] = [];
  const end = Math.floor(damage.length * COMPARABLE_SHARE);
  for (let cell = 0; cell < end; cell += 1) {
    if ((damage[cell] ?? 0) < least) continue;
    const first = cell;
    while (cell + 1 < end && (damage[cell + 1] ?? 0) >= least) cell += 1;
    runs.push({ first, last: cell });
  }
  return runs;
}
