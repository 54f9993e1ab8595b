/** Values on a step, as a capability describes them. */

export interface Steps {
  readonly minimum: number | null;
  readonly maximum: number | null;
  readonly step: number | null;
}

/** One step up (+1) or down (−1) from a value, kept within its bounds and on the step. */
export function stepped(value: number, direction: 1 | -1, steps: Steps): number {
  const step = steps.step ?? 1;
  const from = steps.minimum ?? 0;
  const position = (value - from) / step;
  const nearest = direction > 0 ? Math.floor(position + 1e-6) + 1 : Math.ceil(position - 1e-6) - 1;
  return bounded(tidy(from + nearest * step, steps), steps);
}

/** A value kept within its bounds. */
export function bounded(value: number, steps: Steps): number {
  return Math.min(
    Math.max(value, steps.minimum ?? Number.NEGATIVE_INFINITY),
    steps.maximum ?? Number.POSITIVE_INFINITY,
  );
}

/** A value without the dust of binary fractions: as many decimals as its step has. */
export function tidy(value: number, steps: Steps): number {
  return Number(value.toFixed(decimalsOf(steps.step ?? 1, steps.minimum ?? 0)));
}

/** How many decimals numbers on this step need. */
export function decimalsOf(step: number, from = 0): number {
  return Math.max(decimals(step), decimals(from));
}

function decimals(value: number): number {
  const text = value.toString();
  const dot = text.indexOf(".");
  return dot === -1 ? 0 : Math.min(text.length - dot - 1, 6);
}
