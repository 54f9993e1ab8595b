/** Whether two ends have the same key, as far as their fingerprints tell. */
export type KeyMatch = "same" | "not the same" | "one has none" | "not known";

/** Compares two fingerprints as texts; undefined is one that was never reported, an empty one is no key. */
export function keyMatch(one: string | undefined, other: string | undefined): KeyMatch {
  if (one === undefined || other === undefined) return "not known";
  if (one === other) return one === "" ? "one has none" : "same";
  return one === "" || other === "" ? "one has none" : "not the same";
}
