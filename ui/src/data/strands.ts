import { Quality } from "../protocol/quality";
import { ageAt } from "../pure/age_axis";
import { backfill, REPORTED_SHARE } from "../pure/backfill";
import { ASLEEP_BIT, Bins, type Sample } from "../pure/bins";
import { damagedRuns } from "../pure/damaged_runs";
import { Deafness } from "../pure/deafness";
import type { RecentFrame } from "../pure/frames";
import type { RowFacts } from "../pure/row";
import { silentRuns } from "../pure/silent_runs";
import { Damages } from "./damages";
import { Silences } from "./silences";
import type { LiveTables } from "./tables";

/** Audio above this level counts as speech; common practice, as the console's recent past has it. */
const SPEECH_DBFS = -45;
/** The same at an analog output, full scale being +18 dBu (EBU R 68). */
const SPEECH_DBU = SPEECH_DBFS + 18;
const DAMAGED = 0.02;
/** A gap in the reports shorter than this is healthy (common practice) and no silence. */
const SILENT_S = 5;
/** The strands of all channels, fed by frames and filled in from the recent past. */
export class Strands {
  private readonly byChannel = new Map<string, Bins>();
  private readonly deafness = new Map<string, Deafness>();
  readonly damages = new Damages();
  readonly silences = new Silences();

  /** The bins of a channel; they are made when first asked for. */
  of(channel: string): Bins {
    let bins = this.byChannel.get(channel);
    if (bins === undefined) {
      bins = new Bins();
      this.byChannel.set(channel, bins);
    }
    return bins;
  }

  /** A bit for each branch of a channel's carrier that is deaf now. */
  deafBits(channel: string): number {
    return this.deafnessOf(channel).bits;
  }

  /** Takes what all rows report at `at` seconds. */
  feed(rows: readonly RowFacts[], tables: LiveTables, at: number): void {
    for (const row of rows) {
      const sample = sampleOf(row, tables, at, this.deafnessOf(row.channel));
      if (sample === null) continue;
      const bins = this.of(row.channel);
      if (at - bins.lastAt > SILENT_S && Number.isFinite(bins.lastAt)) this.silences.note(row.channel, bins.lastAt, at);
      bins.add(at, sample);
      if (sample.damage >= DAMAGED) this.damages.note(row.channel, at);
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
      for (const run of silentRuns(row.reported, REPORTED_SHARE)) {
        const [until, from] = [at - ageAt(run.first / recent.cells), at - ageAt((run.last + 1) / recent.cells)];
        if (until - from > SILENT_S) this.silences.note(channel, from, until);
      }
      for (const run of damagedRuns(row.damage, DAMAGED)) {
        const [until, from] = [at - ageAt(run.first / recent.cells), at - ageAt((run.last + 1) / recent.cells)];
        this.damages.notePast(channel, from, until);
      }
    }
  }

  private deafnessOf(channel: string): Deafness {
    let deafness = this.deafness.get(channel);
    if (deafness === undefined) {
      deafness = new Deafness();
      this.deafness.set(channel, deafness);
    }
    return deafness;
  }
}

function sampleOf(row: RowFacts, tables: LiveTables, at: number, deafness: Deafness): Sample | null {
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
  if (Number.isNaN(median)) return null;
  deafness.take(at, levels, median);
  if (asleep(row, tables, at)) return { median, worst, damage: 0, speech: 0, deaf: ASLEEP_BIT };
  const speech = speaks(row, tables, at) ? 1 : 0;
  return { median, worst, damage: damage || 0, speech, deaf: deafness.bits };
}

function asleep(row: RowFacts, tables: LiveTables, at: number): boolean {
  return row.pack !== null && tables.reading("pack", row.pack, "asleep", at).value === 1;
}

function speaks(row: RowFacts, tables: LiveTables, at: number): boolean {
  const digital = good(tables, "channel", row.channel, "rms_dbfs", at);
  return digital > SPEECH_DBFS || good(tables, "channel", row.channel, "rms_dbu", at) > SPEECH_DBU;
}

function good(tables: LiveTables, place: "branch" | "channel", address: string, name: string, at: number): number {
  const reading = tables.reading(place, address, name, at);
  return reading.quality === Quality.Good ? reading.value : Number.NaN;
}
