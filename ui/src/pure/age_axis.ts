/** The strand's axis: u = ln(1 + age / 5 s), from now to two hours ago. Every row shares it. */

export const AXIS_KNEE_S = 5;
export const AXIS_END_S = 7200;
export const AXIS_SPAN = Math.log1p(AXIS_END_S / AXIS_KNEE_S);

/** Ages that are marked along the axis, in seconds. */
export const AXIS_MARKS_S: readonly number[] = [15, 60, 180, 600, 1800, 3600];

/** Where an age lies along the axis, 0 at now and 1 at its end; ages beyond either end stay at that end. */
export function axisPosition(ageSeconds: number): number {
  const age = Math.min(Math.max(ageSeconds, 0), AXIS_END_S);
  return Math.log1p(age / AXIS_KNEE_S) / AXIS_SPAN;
}

/** The age in seconds at a position from 0 to 1 along the axis. */
export function ageAt(position: number): number {
  return AXIS_KNEE_S * Math.expm1(position * AXIS_SPAN);
}
