import { Quality } from "../protocol/quality";
import { ageAt } from "../pure/age_axis";
import { backfill } from "../pure/backfill";
import { Bins, type Sample } from "../pure/bins";
import { damagedRuns } from "../pure/damaged_runs";
import type { RecentFrame } from "../pure/frames";
import type { RowFacts } from "../pure/row";
import type { Incident } from "../pure/stripes";
import { DEAF_BELOW_DB } from "./live_row";
import type { LiveTables } from "./tables";

/** Audio above this level counts as speech; common practice, as the console's recent past has it. */
const SPEECH_DBFS = -50;
const SPEECH_DBU = -30;
const DAMAGED = 0.02;
/** Damage that pauses for less than this is one incident. */
const ONE_INCIDENT_S = 0.5;
const INCIDENTS_KEPT = 2000;
/** Damage in cells of the recent past that are wider than this has no length worth saying. */
const SURE_S = 1;

interface Damage {
  readonly channel: string;
  readonly at: number;
  until: number;
  /** Whether its length is known, and not only the cell it fell into. */
  readonly sure: boolean;
}

/** The strands of all channels, fed by frames and filled in from the recent past. */
export class Strands {
  private readonly byChannel = new Map<string, Bins>();
  private damages: Damage[] = [];

  /** The bins of a channel; they are made when first asked for. */
  of(channel: string): Bins {
    let bins = this.byChannel.get(channel);
    if (bins === undefined) {
      bins = new Bins();
      this.byChannel.set(channel, bins);
    }
    return bins;
  }

  /** Takes what all rows report at `at` seconds. */
  feed(rows: readonly RowFacts[], tables: LiveTables, at: number): void {
    for (const row of rows) {
      const sample = sampleOf(row, tables, at);
      if (sample === null) continue;
      this.of(row.channel).add(at, sample);
      if (sample.damage >= DAMAGED) this.noteDamage(row.channel, at, at);
    }
  }

  /** Fills in the recent past of the channels in the frame's order, as it was at `at` seconds. */
  fill(channels: readonly string[], recent: RecentFrame, at: number): void {
    for (const [index, channel] of channels.entries()) {
      const [from, to] = [index * recent.cells, (index + 1) * recent.cells];
      const row = {
        median: recent.median.subarray(from, to),
        worst: recent.worst.subarray(from, to),
        damage: recent.damage.subarray(from, to),
        speech: recent.speech.subarray(from, to),
        reported: recent.reported.subarray(from, to),
        deaf: recent.deaf.subarray(from, to),
      };
      backfill(this.of(channel), row, at);
      for (const run of damagedRuns(row.damage, DAMAGED)) {
        const [until, from] = [at - ageAt(run.first / recent.cells), at - ageAt((run.last + 1) / recent.cells)];
        this.notePastDamage(channel, from, until);
      }
    }
  }

  /** Damage to the audio of the given channels, by the place of each among them. */
  incidents(channels: readonly string[]): Incident[] {
    const place = new Map(channels.map((channel, index) => [channel, index]));
    return this.damages.flatMap(({ channel, at, until, sure }) => {
      const row = place.get(channel);
      return row === undefined ? [] : [{ row, at, seconds: sure ? Math.max(until - at, 0.1) : Number.NaN }];
    });
  }

  /** Damage of the recent past, unless frames already told it; its length is only as sure as the cells are fine. */
  private notePastDamage(channel: string, at: number, until: number): void {
    const known = this.damages.some((one) => one.channel === channel && one.until >= at && one.at <= until);
    if (!known) this.damages.push({ channel, at, until, sure: until - at < SURE_S });
  }

  private noteDamage(channel: string, at: number, until: number): void {
    const running = this.damages.findLast((one) => one.channel === channel);
    if (running !== undefined && at - running.until <= ONE_INCIDENT_S) {
      running.until = until;
      return;
    }
    this.damages.push({ channel, at, until, sure: true });
    if (this.damages.length > INCIDENTS_KEPT) this.damages = this.damages.slice(-INCIDENTS_KEPT / 2);
  }
}

function sampleOf(row: RowFacts, tables: LiveTables, at: number): Sample | null {
  let median = Number.NaN;
  let worst = Number.NaN;
  const levels: number[] = [];
  for (const branch of row.branches) {
    const level = good(tables, "branch", branch, "rf_dbm", at);
    const least = good(tables, "branch", branch, "rf_min_dbm", at);
    levels.push(level);
    if (!(median >= level)) median = Number.isNaN(level) ? median : level;
    if (!(worst >= least)) worst = Number.isNaN(least) ? worst : least;
  }
  const damage = good(tables, "channel", row.channel, "audio_damage_fraction", at);
  if (Number.isNaN(median) && Number.isNaN(damage)) return null;
  return {
    median,
    worst,
    damage: damage || 0,
    speech: speaks(row, tables, at) ? 1 : 0,
    deaf: deafBits(levels, median),
  };
}

function speaks(row: RowFacts, tables: LiveTables, at: number): boolean {
  const digital = good(tables, "channel", row.channel, "rms_dbfs", at);
  return digital > SPEECH_DBFS || good(tables, "channel", row.channel, "rms_dbu", at) > SPEECH_DBU;
}

function deafBits(levels: readonly number[], best: number): number {
  return levels.reduce((bits, level, index) => (best - level >= DEAF_BELOW_DB ? bits | (1 << index) : bits), 0);
}

function good(tables: LiveTables, place: "branch" | "channel", address: string, name: string, at: number): number {
  const reading = tables.reading(place, address, name, at);
  return reading.quality === Quality.Good ? reading.value : Number.NaN;
}
