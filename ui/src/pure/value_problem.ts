import type { ValueSchema } from "../protocol/model";

export type ValueProblem =
  | { readonly kind: "not a number" }
  | { readonly kind: "too small"; readonly bound: number }
  | { readonly kind: "too large"; readonly bound: number }
  | { readonly kind: "off the step"; readonly step: number }
  | { readonly kind: "too long"; readonly bound: number };

const STEP_TOLERANCE = 1e-6;

/** Why a value can't be asked for, or null. The console checks again; this spares a round trip. */
export function valueProblem(value: boolean | number | string, schema: ValueSchema): ValueProblem | null {
  if (typeof value === "string") {
    return value.length > schema.maximum_length ? { kind: "too long", bound: schema.maximum_length } : null;
  }
  if (typeof value === "boolean") return null;
  if (!Number.isFinite(value)) return { kind: "not a number" };
  if (schema.minimum !== null && value < schema.minimum) return { kind: "too small", bound: schema.minimum };
  if (schema.maximum !== null && value > schema.maximum) return { kind: "too large", bound: schema.maximum };
  if (schema.multiple_of === null) return null;
  const steps = (value - (schema.minimum ?? 0)) / schema.multiple_of;
  const off = Math.abs(steps - Math.round(steps)) > STEP_TOLERANCE;
  return off ? { kind: "off the step", step: schema.multiple_of } : null;
}
