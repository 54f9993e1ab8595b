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
  const channels = store.rows.map((row) => row.channel);
  const { damages, silences } = store.strands;
  const told = [
    ...findStripes(damages.incidents(channels)).map((stripe) => ({ stripe, say: words.stripe })),
    ...findStripes(silences.incidents(channels)).map((stripe) => ({ stripe, say: words.silentStripe })),
  ];
  const labels: StripeLabel[] = [];
  for (const { stripe, say } of told.sort((a, b) => b.stripe.at - a.stripe.at)) {
    if (now - stripe.at >= OLDEST_LABELLED_S) continue;
    const left = Math.min(axisPosition(now - stripe.at) * width, width - LABEL_WIDTH);
    if (labels.some((label) => Math.abs(label.left - left) < LABEL_WIDTH)) continue;
    const clock = clockWords(store.clock.utcUs(stripe.at));
    labels.push({ text: say(clock, stripe.rows.length, lengthWords(stripe)), left, row: stripe.rows[0] ?? 0 });
  }
  return labels;
}

function lengthWords(stripe: Stripe): string {
  if (Number.isNaN(stripe.worstSeconds)) return "";
  return stripe.worstSeconds < 10 ? stripe.worstSeconds.toFixed(1) : stripe.worstSeconds.toFixed(0);
}
