import type { Capability } from "../protocol/model";

/** What a change of a setting does to the sound; `none` may be set by a click. */
export type Danger = "none" | "mutes" | "silences" | "wakes" | "may lose the link" | "changes reach";

/** Frequency, power, sleep and muting are dangerous on every device, whatever it says; others where it says so. */
export function dangerOf(capability: Pick<Capability, "field" | "mutes">, value: boolean | number | string): Danger {
  if (capability.field === "frequency_hz") return "may lose the link";
  if (capability.field === "standby") return value === true ? "silences" : "wakes";
  if (capability.field === "muted" && value === true) return "silences";
  if (capability.mutes) return "mutes";
  return capability.field === "rf_power_mw" ? "changes reach" : "none";
}
