import type { Capability, Place } from "../protocol/model";

const LABELS: Readonly<Partial<Record<Place, Readonly<Record<string, string>>>>> = {
  device: {
    name: "name",
    clock_source: "clock follows",
    sample_rate_hz: "sample rate",
    panel_locked: "front panel locked",
  },
  carrier: {
    frequency_hz: "frequency",
    mode: "mode",
    bandwidth_hz: "bandwidth",
    squelch_dbm: "squelch",
    squelch_step: "squelch step",
    tone_squelch: "tone squelch",
    encryption: "encryption",
    rf_power_mw: "radio power",
    power_reference: "power is meant as",
    rf_on: "radiates",
  },
  branch: { attenuation_db: "attenuation", boost_db: "booster", feed_powered: "feed powered" },
  input: { attenuation_db: "attenuation", boost_db: "booster", feed_powered: "feed powered" },
  output: { level_db: "level", delay_ms: "delay", source: "fed by", clock: "clock follows" },
  channel: { name: "name", trim_db: "receiver trim", muted: "muted at the receiver" },
  pack: {
    name: "name",
    frequency_hz: "frequency",
    input_trim_db: "pack gain",
    low_cut_hz: "low-cut",
    rf_power_mw: "radio power",
    power_reference: "power is meant as",
    rf_on: "radiates",
    attenuator_db: "attenuator",
    phantom: "phantom power",
    bias: "bias",
    standby: "asleep by command",
    muted: "muted at the pack",
    cell_type: "type of cells",
    locked: "its keys locked",
    polarity_inverted: "polarity turned",
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
