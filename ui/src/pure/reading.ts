import { Quality } from "../protocol/quality";

/** One value with what it is worth. */
export interface Reading {
  readonly value: number;
  readonly quality: Quality;
  /** Infinity when never or longer ago than ages can tell. */
  readonly ageS: number;
}

export const ABSENT: Reading = { value: Number.NaN, quality: Quality.Absent, ageS: Number.POSITIVE_INFINITY };

/** Whether a value may be shown as one: present, and young enough to act on. */
export function isGood(reading: Reading): boolean {
  return reading.quality === Quality.Good && !Number.isNaN(reading.value);
}
