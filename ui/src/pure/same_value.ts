type Value = boolean | number | string;

const RELATIVE_TOLERANCE = 1e-9;

/** Whether two values are the same setting: 80 and 80.0 are, true and 1 are not; the console's own rule. */
export function sameValue(one: Value, other: Value): boolean {
  if (typeof one !== "number" || typeof other !== "number") return one === other;
  return Math.abs(one - other) <= RELATIVE_TOLERANCE * Math.max(Math.abs(one), Math.abs(other));
}
