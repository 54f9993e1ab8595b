import type { Capability } from "../protocol/model";
import { decimal, megahertz } from "./number_words";
import { decimalsOf } from "./step";

/** How a numeric setting is shown and typed: its unit and how many of the device's units one of ours is. */
export interface DisplayUnit {
  readonly unit: string;
  readonly factor: number;
}

const RADIO_HZ = 1_000_000;

/** Radio frequencies are shown in megahertz, all else in the device's own unit. */
export function displayUnit(capability: Pick<Capability, "unit" | "schema">): DisplayUnit {
  const { unit, schema } = capability;
  const radio =
    unit === "Hz" && ((schema.maximum ?? 0) >= RADIO_HZ || schema.enum.some((one) => Number(one) >= RADIO_HZ));
  return radio ? { unit: "MHz", factor: RADIO_HZ } : { unit, factor: 1 };
}

/** A number as it is shown, without its unit. */
export function shownNumber(value: number, capability: Pick<Capability, "unit" | "schema">): string {
  if (displayUnit(capability).factor === RADIO_HZ) return megahertz(value);
  const step = capability.schema.multiple_of;
  const digits = step === null ? Math.min(decimalsOf(value), 3) : decimalsOf(step, capability.schema.minimum ?? 0);
  return decimal(value, digits);
}

/** What somebody typed, in the device's unit; NaN when it is no number. A decimal comma is understood. */
export function typedNumber(text: string, capability: Pick<Capability, "unit" | "schema">): number {
  const plain = text.trim().replace(",", ".").replace("\u2212", "-");
  if (!/^[-+]?\d+(\.\d+)?$/.test(plain)) return Number.NaN;
  const value = Number(plain) * displayUnit(capability).factor;
  return capability.schema.type === "integer" ? Math.round(value) : value;
}
