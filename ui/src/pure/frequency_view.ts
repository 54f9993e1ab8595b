import type { Span } from "./spectrum";

/** The part of a frequency axis that is looked at: zoomed, moved, never beyond the whole and never finer than a least. */

/** No view is narrower than this. */
export const LEAST_VIEW_HZ = 100_000;

/** Where a frequency lies in a view, 0 at its left edge and 1 at its right. */
export function shareOf(view: Span, hertz: number): number {
  return (hertz - view.fromHz) / (view.toHz - view.fromHz);
}

/** The frequency at a share of a view. */
export function hertzAt(view: Span, share: number): number {
  return view.fromHz + share * (view.toHz - view.fromHz);
}

/** A view `factor` times as wide, with the frequency at `share` left where it was. */
export function zoomed(view: Span, whole: Span, factor: number, share: number): Span {
  const wide = whole.toHz - whole.fromHz;
  const width = Math.min(Math.max((view.toHz - view.fromHz) * factor, Math.min(LEAST_VIEW_HZ, wide)), wide);
  return within({ fromHz: hertzAt(view, share) - share * width, width }, whole);
}

/** A view moved by a share of its own width, to higher frequencies where that is positive. */
export function moved(view: Span, whole: Span, share: number): Span {
  const width = view.toHz - view.fromHz;
  return within({ fromHz: view.fromHz + share * width, width }, whole);
}

/** A view that shows a stretch with some room on both sides. */
export function around(stretch: Span, whole: Span): Span {
  const width = Math.min(Math.max((stretch.toHz - stretch.fromHz) * 3, LEAST_VIEW_HZ * 10), whole.toHz - whole.fromHz);
  return within({ fromHz: (stretch.fromHz + stretch.toHz - width) / 2, width }, whole);
}

function within({ fromHz, width }: { fromHz: number; width: number }, whole: Span): Span {
  const from = Math.max(Math.min(fromHz, whole.toHz - width), whole.fromHz);
  return { fromHz: from, toHz: from + width };
}

/** Round frequencies of a view, at most so many, and how many decimals of a megahertz they need. */
export function ticksOf(view: Span, most: number): { readonly hertz: readonly number[]; readonly decimals: number } {
  const least = (view.toHz - view.fromHz) / Math.max(most, 1);
  const power = 10 ** Math.floor(Math.log10(least));
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => one >= least) ?? 10 * power;
  const first = Math.ceil(view.fromHz / step);
  const last = Math.floor(view.toHz / step);
  const hertz = Array.from({ length: Math.max(last - first + 1, 0) }, (_, index) => (first + index) * step);
  return { hertz, decimals: Math.min(Math.max(Math.ceil(6 - Math.log10(step)), 0), 6) };
}
