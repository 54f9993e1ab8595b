/** What stands in a carrier's way: products near it, and the carriers beside it, each with what is left of its guard. */

import type { PlanProfile } from "./plan_request";
import { productFactors, productSum } from "./product_factors";

export interface Near {
  readonly family: string;
  readonly makers_hz: readonly number[];
  readonly frequency_hz: number;
  readonly distance_hz: number;
  readonly level_dbm: number | null;
}

export interface Neighbour {
  /** The product as a sum; empty for a carrier. */
  readonly sum: string;
  readonly makers: readonly { readonly frequencyHz: number; readonly factor: number }[];
  readonly frequencyHz: number;
  readonly distanceHz: number;
  /** What is left beyond the guard; below 0 the rule is broken, null where nothing guards. */
  readonly marginHz: number | null;
  readonly levelDbm: number | null;
}

/** The guard of a profile against a family of products; 0 for none. */
export function guardAgainst(profile: PlanProfile | undefined, family: string): number {
  switch (family) {
    case "2A-B":
      return profile?.third_two_signal_hz ?? 0;
    case "A+B-C":
      return profile?.third_three_signal_hz ?? 0;
    case "3A-2B":
      return profile?.fifth_two_signal_hz ?? 0;
    default:
      return 0;
  }
}

/** Products as neighbours, guarded ones with the least margin first. */
export function productNeighbours(
  products: readonly Near[],
  profile: PlanProfile | undefined,
  word: (hertz: number) => string,
): Neighbour[] {
  return products
    .map((product) => {
      const guard = guardAgainst(profile, product.family);
      const distanceHz = Math.abs(product.distance_hz);
      const factors = productFactors(product.family);
      return {
        sum: productSum(product.family, product.makers_hz, word),
        makers: product.makers_hz.map((frequencyHz, index) => ({ frequencyHz, factor: factors[index] ?? 1 })),
        frequencyHz: product.frequency_hz,
        distanceHz,
        marginHz: guard === 0 ? null : distanceHz - guard,
        levelDbm: product.level_dbm,
      };
    })
    .sort((one, other) => badness(one) - badness(other));
}

/** The nearest carriers below and above, by how much more than the spacing they are off. */
export function besideCarriers(
  carrier: number,
  others: readonly { readonly frequencyHz: number; readonly spacingHz: number }[],
  spacingHz: number,
): Neighbour[] {
  const below = others.filter((one) => one.frequencyHz < carrier).sort((a, b) => b.frequencyHz - a.frequencyHz)[0];
  const above = others.filter((one) => one.frequencyHz > carrier).sort((a, b) => a.frequencyHz - b.frequencyHz)[0];
  return [below, above].flatMap((one) => {
    if (one === undefined) return [];
    const distanceHz = Math.abs(one.frequencyHz - carrier);
    const marginHz = distanceHz - Math.max(spacingHz, one.spacingHz);
    return [{ sum: "", makers: [], frequencyHz: one.frequencyHz, distanceHz, marginHz, levelDbm: null }];
  });
}

/** Guarded ones come first, the least margin before all; the unguarded by how near they fall. */
function badness({ marginHz, distanceHz }: Neighbour): number {
  return marginHz === null ? 1e9 + distanceHz : marginHz;
}
