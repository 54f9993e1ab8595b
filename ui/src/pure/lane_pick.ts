/** Which carrier is meant: by the pointer, and by the keys. */

export interface Standing {
  readonly zone: string;
  readonly frequencyHz: number;
}

/** The carrier of a zone nearest to a frequency and no further off than `within`; −1 for none. */
export function nearestIn(carriers: readonly Standing[], zone: string, hertz: number, within: number): number {
  let [found, distance] = [-1, within];
  for (const [index, carrier] of carriers.entries()) {
    const off = Math.abs(carrier.frequencyHz - hertz);
    if (carrier.zone === zone && off <= distance) [found, distance] = [index, off];
  }
  return found;
}

/** The next carrier up or down in frequency from one, in any zone; the outermost from none. */
export function beside(carriers: readonly Standing[], from: number, by: 1 | -1): number {
  if (carriers.length === 0) return -1;
  const order = carriers.map((_, index) => index).sort((one, other) => rank(carriers, one, other));
  const at = order.indexOf(from);
  if (at === -1) return order.at(by === 1 ? 0 : -1) ?? -1;
  return order[Math.min(Math.max(at + by, 0), order.length - 1)] ?? -1;
}

/** The carrier nearest in frequency in the next lane that has any, up (−1) or down (1); the same where there is none. */
export function across(carriers: readonly Standing[], zones: readonly string[], from: number, by: 1 | -1): number {
  const standing = carriers[from];
  if (standing === undefined) return beside(carriers, -1, by);
  for (let lane = zones.indexOf(standing.zone) + by; lane >= 0 && lane < zones.length; lane += by) {
    const found = nearestIn(carriers, zones[lane] ?? "", standing.frequencyHz, Number.POSITIVE_INFINITY);
    if (found !== -1) return found;
  }
  return from;
}

function rank(carriers: readonly Standing[], one: number, other: number): number {
  return (carriers[one]?.frequencyHz ?? 0) - (carriers[other]?.frequencyHz ?? 0) || one - other;
}
