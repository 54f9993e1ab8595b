/** Stripes: what befell several rows within the same second, labelled once. */

export interface Incident {
  /** The row's place in the picture, from the top. */
  readonly row: number;
  /** Seconds of the console's clock. */
  readonly at: number;
  /** NaN where it isn't known. */
  readonly seconds: number;
}

export interface Stripe {
  readonly at: number;
  readonly rows: readonly number[];
  /** The longest of them, NaN where one of them isn't known. */
  readonly worstSeconds: number;
}

export const STRIPE_ROWS_LEAST = 3;
const TOGETHER_S = 1;

/** Gathers incidents that began within a second of the first; fewer than three rows make no stripe. */
export function findStripes(incidents: readonly Incident[]): Stripe[] {
  const sorted = [...incidents].sort((a, b) => a.at - b.at);
  const stripes: Stripe[] = [];
  let start = 0;
  while (start < sorted.length) {
    const first = sorted[start] as Incident;
    let end = start + 1;
    while (end < sorted.length && (sorted[end] as Incident).at - first.at <= TOGETHER_S) end += 1;
    const stripe = stripeOf(sorted.slice(start, end));
    if (stripe.rows.length >= STRIPE_ROWS_LEAST) stripes.push(stripe);
    start = end;
  }
  return stripes;
}

function stripeOf(together: readonly Incident[]): Stripe {
  const rows = [...new Set(together.map((incident) => incident.row))].sort((a, b) => a - b);
  return {
    at: together[0]?.at ?? 0,
    rows,
    worstSeconds: Math.max(...together.map((incident) => incident.seconds)),
  };
}
