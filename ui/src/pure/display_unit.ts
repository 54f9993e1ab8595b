import type { Capability } from "../protocol/model";
import { decimal, megahertz } from "./number_words";
import { decimalsOf } from "./step";

/** How a numeric setting is shown and typed: its unit and how many of the device's units one of ours is. */
export interface DisplayUnit {
  readonly unit: string;
  readonly factor: number;
}

type Shape = Pick<Capability, "unit" | "schema">;

const RADIO_HZ = 1_000_000;
const KILOHERTZ_FROM_HZ = 10_000;

/** Radio frequencies are shown in megahertz, bandwidths and sample rates in kilohertz, all else in the device's unit. */
export function displayUnit(capability: Shape): DisplayUnit {
  const { unit, schema } = capability;
  if (unit !== "Hz") return { unit, factor: 1 };
  const most = Math.max(schema.maximum ?? 0, ...schema.enum.map(Number).filter(Number.isFinite));
  if (most >= RADIO_HZ) return { unit: "MHz", factor: RADIO_HZ };
  return most >= KILOHERTZ_FROM_HZ ? { unit: "kHz", factor: 1000 } : { unit, factor: 1 };
}

/** A number as it is shown, without its unit. */
export function shownNumber(value: number, capability: Shape): string {
  const { factor } = displayUnit(capability);
  if (factor === RADIO_HZ) return megahertz(value);
  const shown = value / factor;
  const step = capability.schema.multiple_of;
  if (factor !== 1 || step === null) return decimal(shown, Math.min(decimalsOf(shown), 3));
  return decimal(shown, decimalsOf(step, capability.schema.minimum ?? 0));
}

/** What somebody typed, in the device's unit; NaN when it is no number. A decimal comma is understood. */
export function typedNumber(text: string, capability: Shape): number {
  const plain = text.trim().replace(",", ".").replace("\u2212", "-");
  if (!/^[-+]?\d+(\.\d+)?$/.test(plain)) return Number.NaN;
  const value = Number(plain) * displayUnit(capability).factor;
  return capability.schema.type === "integer" ? Math.round(value) : value;
}
