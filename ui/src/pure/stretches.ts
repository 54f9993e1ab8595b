import type { Span } from "./spectrum";

/** Stretches of spectrum put together and taken from each other. All answers are sorted and don't touch. */

/** The stretches of both, those that overlap or touch as one. */
export function together(stretches: readonly Span[]): Span[] {
  const sorted = stretches.filter(({ fromHz, toHz }) => toHz > fromHz).sort((one, other) => one.fromHz - other.fromHz);
  const joined: Span[] = [];
  for (const stretch of sorted) {
    const last = joined.at(-1);
    if (last === undefined || stretch.fromHz > last.toHz) joined.push(stretch);
    else joined[joined.length - 1] = { fromHz: last.fromHz, toHz: Math.max(last.toHz, stretch.toHz) };
  }
  return joined;
}

/** What is left of some stretches once others are taken away. */
export function without(stretches: readonly Span[], taken: readonly Span[]): Span[] {
  const away = together(taken);
  return together(stretches).flatMap((stretch) => {
    const left: Span[] = [];
    let fromHz = stretch.fromHz;
    for (const one of away) {
      if (one.toHz <= fromHz || one.fromHz >= stretch.toHz) continue;
      if (one.fromHz > fromHz) left.push({ fromHz, toHz: one.fromHz });
      fromHz = one.toHz;
    }
    return fromHz < stretch.toHz ? [...left, { fromHz, toHz: stretch.toHz }] : left;
  });
}

/** How many hertz some stretches hold, what overlaps counted once. */
export function hertzOf(stretches: readonly Span[]): number {
  return together(stretches).reduce((sum, { fromHz, toHz }) => sum + toHz - fromHz, 0);
}

/** A stretch widened to the raster, so that it holds all that it held. The ends may be given in any order. */
export function ontoRaster(one: number, other: number, rasterHz: number): Span {
  const fromHz = Math.floor(Math.min(one, other) / rasterHz) * rasterHz;
  const toHz = Math.ceil(Math.max(one, other) / rasterHz) * rasterHz;
  return { fromHz, toHz: toHz > fromHz ? toHz : fromHz + rasterHz };
}

/** The frequencies or stretches in megahertz that somebody types: `606–614`, `606.5 614`, `606,5-614`; null if none. */
export function typedStretch(text: string): Span | null {
  const found = /^\s*(\d+(?:[.,]\d+)?)\s*(?:MHz)?\s*(?:-|–|\s|to)\s*(\d+(?:[.,]\d+)?)\s*(?:MHz)?\s*$/i.exec(text);
  const [fromHz, toHz] = [found?.[1], found?.[2]].map((one) => Math.round(Number((one ?? "").replace(",", ".")) * 1e6));
  if (found === null || fromHz === undefined || toHz === undefined || toHz <= fromHz) return null;
  return { fromHz, toHz };
}
