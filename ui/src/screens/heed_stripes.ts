import type { Store } from "../data/store";
import { axisPosition } from "../pure/age_axis";
import { clockWords } from "../pure/number_words";
import { findStripes, type Stripe } from "../pure/stripes";
import { words } from "../words/english";

/** Labels are at least so far apart, in pixels; of those nearer the younger is kept. */
const LABEL_WIDTH = 230;
const OLDEST_LABELLED_S = 7200;

/** A label at the head of a stripe, from the left of the strands. */
export interface StripeLabel {
  readonly text: string;
  readonly left: number;
  readonly row: number;
}

/** What befell several rows at once, each labelled once; only what fits beside one another. */
export function stripeLabels(store: Store, now: number, width: number): StripeLabel[] {
  const incidents = store.strands.damages.incidents(store.rows.map((row) => row.channel));
  const stripes = findStripes(incidents).filter((stripe) => now - stripe.at < OLDEST_LABELLED_S);
  const labels: StripeLabel[] = [];
  for (const stripe of stripes.reverse()) {
    const left = Math.min(axisPosition(now - stripe.at) * width, width - LABEL_WIDTH);
    if (labels.every((label) => Math.abs(label.left - left) >= LABEL_WIDTH)) {
      labels.push({ text: labelWords(store, stripe), left, row: stripe.rows[0] ?? 0 });
    }
  }
  return labels;
}

function labelWords(store: Store, stripe: Stripe): string {
  const clock = clockWords(store.clock.utcUs(stripe.at));
  return words.stripe(
    clock,
    stripe.rows.length,
    Number.isNaN(stripe.worstSeconds) ? "" : stripe.worstSeconds.toFixed(1),
  );
}
