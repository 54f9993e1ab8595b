import type { ContactStatus } from "../protocol/model";
import { Quality } from "../protocol/quality";
import { ABSENT, type Reading } from "../pure/reading";
import type { LiveBranch, LiveRow, RowFacts } from "../pure/row";
import { type RowState, rowState } from "../pure/row_state";
import type { LiveTables } from "./tables";

/** Where a row is read from. */
export interface RowSources {
  readonly contact: ContactStatus | null;
  readonly tables: LiveTables;
  /** A bit for each branch that is deaf. */
  readonly deafBits: number;
}

/** Reads a row as it stands at `now` seconds. */
export function liveRow(facts: RowFacts, sources: RowSources, now: number): LiveRow {
  const { contact, tables } = sources;
  const channel = (name: string) => tables.reading("channel", facts.channel, name, now);
  const pack = (name: string) => (facts.pack === null ? ABSENT : tables.reading("pack", facts.pack, name, now));
  const branches = liveBranches(facts, sources, now);
  const digital = channel("peak_dbfs");
  const peak = digital.quality === Quality.Absent ? channel("peak_dbu") : digital;
  const better = branches.reduce<Reading>((best, one) => louder(best, one.level), ABSENT);
  return {
    state: stateOf(facts, contact, {
      better,
      peak,
      asleep: pack("asleep"),
      goodbye: goodbyeOf(pack("goodbye"), tables),
    }),
    silentS: tables.reading("device", facts.deviceId, "contact_age_s", now).value,
    valueAgeS: Math.min(better.ageS, peak.ageS),
    lastSeenUtcUs: contact?.last_seen_utc_us ?? null,
    branches,
    better,
    peak,
    analog: digital.quality === Quality.Absent,
    damage: channel("audio_damage_fraction"),
    audioState: coded(channel("audio_state"), tables.choices("channel", "audio_state")),
    packSwitch: coded(pack("switch"), tables.choices("pack", "switch")),
    minutes: pack("battery_minutes"),
    fraction: pack("battery_fraction"),
  };
}

function liveBranches(facts: RowFacts, { tables, deafBits }: RowSources, now: number): LiveBranch[] {
  const levels = facts.branches.map((branch) => tables.reading("branch", branch, "rf_dbm", now));
  return levels.map((level, index) => ({
    label: (facts.branches[index]?.split("/").at(-1) ?? "").toUpperCase(),
    level,
    deaf: (deafBits & (1 << index)) !== 0,
  }));
}

function louder(one: Reading, other: Reading): Reading {
  if (one.quality === Quality.Absent || Number.isNaN(one.value)) return other;
  return other.value > one.value ? other : one;
}

interface Heard {
  readonly better: Reading;
  readonly peak: Reading;
  readonly asleep: Reading;
  readonly goodbye: string;
}

function stateOf(facts: RowFacts, contact: ContactStatus | null, heard: Heard): RowState {
  return rowState({
    contact: contact?.state ?? null,
    everSeen: contact !== null && contact.last_seen_utc_us !== null,
    fresh: heard.better.quality === Quality.Good || heard.peak.quality === Quality.Good,
    asleep: heard.asleep.value === 1,
    goodbye: heard.goodbye,
    spare: facts.spare,
  });
}

function goodbyeOf(reading: Reading, tables: LiveTables): string {
  return coded(reading, tables.choices("pack", "goodbye"));
}

function coded(reading: Reading, choices: readonly string[]): string {
  return reading.quality === Quality.Absent ? "" : (choices[reading.value] ?? "");
}
