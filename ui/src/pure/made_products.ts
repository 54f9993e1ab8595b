/** Where the third-order products fall that one carrier has a part in. */

/** Counts by place: `counts[place - first]`. */
export interface MadeProducts {
  readonly first: number;
  readonly counts: Uint32Array;
}

/**
 * Counts the third-order products of one carrier with others, all given as whole raster steps and all different.
 *
 * With `a` the carrier and `b`, `c` two others: 2a − b, 2b − a, a + b − c and b + c − a, each set of makers once.
 */
export function madeProducts(carrier: number, others: readonly number[]): MadeProducts {
  const least = Math.min(carrier, ...others);
  const most = Math.max(carrier, ...others);
  const first = 2 * least - most;
  const counts = new Uint32Array(2 * most - least - first + 1);
  const count = (place: number) => {
    const at = place - first;
    counts[at] = (counts[at] ?? 0) + 1;
  };
  for (const [index, b] of others.entries()) {
    count(2 * carrier - b);
    count(2 * b - carrier);
    for (let next = index + 1; next < others.length; next += 1) {
      const c = others[next] ?? 0;
      count(carrier + b - c);
      count(carrier + c - b);
      count(b + c - carrier);
    }
  }
  return { first, counts };
}
