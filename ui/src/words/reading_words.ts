import type { Place } from "../protocol/model";
import { ageWords, decimal, megahertz, minutesWords, whole } from "../pure/number_words";
import { decimalsOf } from "../pure/step";
import { words } from "./english";

type Value = boolean | number | string;

/** A value in words, and the unit that it is in, to be shown on demand. */
export interface Said {
  readonly text: string;
  readonly unit: string;
}

const LABELS: Readonly<Record<string, string>> = {
  rf_dbm: "level",
  rf_min_dbm: "least lately",
  rf_max_dbm: "greatest lately",
  floor_dbm: "noise floor beside it",
  floor_age_s: "floor measured",
  floor_method: "how the floor was found",
  overload: "front end",
  feed_ma: "current of the feed",
  feed_fault: "feed",
  link_quality: "audio received intact",
  foreign: "somebody else's signal",
  identity: "pack heard",
  peak_dbfs: "audio peak",
  rms_dbfs: "audio level",
  peak_dbu: "audio peak",
  rms_dbu: "audio level",
  deviation_hz: "deviation",
  audio_damage_fraction: "audio damaged",
  audio_state: "sound",
  key_fingerprint: "fingerprint of its key",
  battery_v: "voltage of the cells",
  battery_fraction: "charge of the cells",
  battery_minutes: "time left, by its own reckoning",
  switch: "its own switch",
  asleep: "asleep",
  reported_frequency_hz: "frequency, as it says",
  return_link: "requests answered",
  last_seen_s: "heard",
  goodbye: "took its leave",
  input_overload: "its input",
  charge_state: "what the bay does",
  minutes_to_full: "full in",
  health_fraction: "capacity against new",
  charge_cycles: "times charged",
  temperature_c: "temperature",
  firmware: "firmware",
  clock_locked: "audio clock",
  clock_error_ppm: "clock against its reference",
  slip_count: "samples slipped since it started",
  supply_ok: "power supply",
  contact_age_s: "heard",
};

const BAY_LABELS: Readonly<Record<string, string>> = { identity: "pack in the bay" };

/** What true and false mean where that isn't yes and no. */
const FLAGS: Readonly<Record<string, readonly [no: string, yes: string]>> = {
  overload: ["in order", "overloaded"],
  feed_fault: ["in order", "shorted or open"],
  foreign: ["none", "on this frequency"],
  input_overload: ["in order", "overloaded"],
  clock_locked: ["not locked", "locked"],
  supply_ok: ["not in order", "in order"],
};

const GOODBYES: Readonly<Record<string, string>> = {
  none: "no",
  standby: "went to sleep",
  off: "switched off",
  cells: "cells empty",
};

/** What a reading is called; the device's own name where nobody knows it. */
export function readingWords(place: Place, name: string): string {
  const own = place === "bay" ? BAY_LABELS[name] : undefined;
  return own ?? LABELS[name] ?? name.replaceAll("_", " ");
}

/** The value of a reading as somebody would say it. */
export function readingSaid(name: string, value: Value, unit: string): Said {
  if (typeof value === "boolean") return { text: flagWords(name, value), unit: "" };
  if (typeof value === "string") return { text: codeWords(name, value), unit: "" };
  if (name.endsWith("_fraction") || name === "link_quality" || name === "return_link") {
    return { text: `${whole(value * 100)} %`, unit: "" };
  }
  if (unit === "min") return { text: minutesWords(value), unit: "" };
  if (unit === "s") return { text: words.agoFor(ageWords(value)), unit: "" };
  if (unit === "Hz" && value >= 1e6) return { text: megahertz(value), unit: "MHz" };
  return { text: decimal(value, Math.min(decimalsOf(rounded(value, unit)), 2)), unit };
}

/** Levels are read to the decibel, all else as far as it was told. */
function rounded(value: number, unit: string): number {
  return unit.startsWith("dB") ? Math.round(value) : Number(value.toFixed(2));
}

function flagWords(name: string, value: boolean): string {
  const known = FLAGS[name];
  if (known !== undefined) return known[value ? 1 : 0];
  return value ? words.yes : words.no;
}

function codeWords(name: string, value: string): string {
  if (name === "audio_state") return words.audioStates[value] ?? value.replaceAll("_", " ");
  if (name === "goodbye") return GOODBYES[value] ?? value.replaceAll("_", " ");
  return name === "firmware" || name === "identity" || name === "key_fingerprint" ? value : value.replaceAll("_", " ");
}
