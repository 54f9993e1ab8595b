import type { Capability } from "../protocol/model";

/** What a change of a setting does to the sound; `none` may be set by a click. */
export type Danger =
  | "none"
  | "mutes"
  | "silences"
  | "wakes"
  | "may lose the link"
  | "changes reach"
  | "bangs"
  | "feeds"
  | "in an ear";

/** Frequency, power, sleep, muting and voltages are dangerous on every device, whatever it says; others where it says so. */
export function dangerOf(
  capability: Pick<Capability, "field" | "mutes" | "guarded">,
  value: boolean | number | string,
): Danger {
  const known = BY_FIELD[capability.field]?.(value) ?? "none";
  if (capability.guarded) return "in an ear";
  if (known !== "none" && known !== "changes reach") return known;
  return capability.mutes ? "mutes" : known;
}

const BY_FIELD: Readonly<Record<string, (value: boolean | number | string) => Danger>> = {
  frequency_hz: () => "may lose the link",
  standby: (value) => (value === true ? "silences" : "wakes"),
  muted: (value) => (value === true ? "silences" : "none"),
  rf_on: (value) => (value === true ? "wakes" : "silences"),
  rf_power_mw: () => "changes reach",
  encryption: () => "may lose the link",
  phantom: () => "bangs",
  bias: () => "bangs",
  feed_powered: () => "feeds",
};
