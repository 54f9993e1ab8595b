/** A bracket beside the rows for each matter of several rows, in lanes so that none covers another. */

export interface BracketMatter {
  readonly matter_id: string;
  readonly priority: number;
  readonly acknowledged: boolean;
  readonly rows: readonly number[];
}

export interface Bracket {
  readonly matter_id: string;
  readonly priority: number;
  readonly acknowledged: boolean;
  readonly lane: number;
  readonly first: number;
  readonly last: number;
  /** The rows touched between first and last; the others are only passed by. */
  readonly touched: readonly number[];
}

export const LANES = 2;

/** Lays brackets out, the most pressing nearest the rows; those beyond the last lane share it. */
export function layBrackets(matters: readonly BracketMatter[]): Bracket[] {
  const ends: number[][] = Array.from({ length: LANES }, () => []);
  const brackets: Bracket[] = [];
  const many = matters.filter((matter) => matter.rows.length > 1);
  for (const matter of [...many].sort((a, b) => a.priority - b.priority)) {
    const touched = [...matter.rows].sort((a, b) => a - b);
    const first = touched[0] ?? 0;
    const last = touched.at(-1) ?? first;
    const lane = freeLane(ends, first, last);
    ends[lane]?.push(first, last);
    const { matter_id, priority, acknowledged } = matter;
    brackets.push({ matter_id, priority, acknowledged, lane, first, last, touched });
  }
  return brackets;
}

function freeLane(lanes: readonly number[][], first: number, last: number): number {
  const free = lanes.findIndex((spans) => {
    for (let index = 0; index < spans.length; index += 2) {
      if (first <= (spans[index + 1] ?? -1) && last >= (spans[index] ?? 0)) return false;
    }
    return true;
  });
  return free === -1 ? LANES - 1 : free;
}
