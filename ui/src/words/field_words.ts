import type { Capability, Place } from "../protocol/model";

const LABELS: Readonly<Partial<Record<Place, Readonly<Record<string, string>>>>> = {
  device: { name: "name" },
  carrier: { frequency_hz: "frequency" },
  channel: { name: "name", trim_db: "receiver trim", muted: "muted at the receiver" },
  pack: {
    name: "name",
    frequency_hz: "frequency",
    input_trim_db: "pack gain",
    low_cut_hz: "low-cut",
    rf_power_mw: "radio power",
    standby: "asleep by command",
    muted: "muted at the pack",
  },
};

/** The label of a setting: ours where the field is known, else the device's own words, else its name. */
export function fieldWords(place: Place, capability: Pick<Capability, "field" | "words">): string {
  const known = LABELS[place]?.[capability.field];
  return known ?? (capability.words || capability.field.replaceAll("_", " "));
}

/** Fields that have a value with a word of its own. */
export function specialWord(field: string, value: boolean | number | string): string | null {
  return field === "low_cut_hz" && value === 0 ? "off" : null;
}
