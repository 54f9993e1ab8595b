/**
 * A pyramid of time bins for one row: level k holds 256 bins of 0.1 · 2^k seconds, ten levels, rather over three hours.
 * Each level is a ring by absolute bin number; `stamps` tells which bin a slot holds now. Memory is fixed.
 */

export const LEVELS = 10;
export const BINS_PER_LEVEL = 256;
export const FINEST_BIN_S = 0.1;
/** Reports further apart than this leave a gap in the strand; nearer ones are bridged. */
export const BRIDGED_S = 2;
const SLOTS = LEVELS * BINS_PER_LEVEL;

/** Stands beside the bits of deaf branches: silence is planned. */
export const ASLEEP_BIT = 128;

/** What a row reported at one moment. Levels are dBm of the better branch; NaN where absent. */
export interface Sample {
  readonly median: number;
  readonly worst: number;
  /** Share of the audio that was damaged, 0 to 1. */
  readonly damage: number;
  /** Share of the time with speech, 0 to 1. */
  readonly speech: number;
  /** Bit per branch that is deaf, and `ASLEEP_BIT` while the pack sleeps. */
  readonly deaf: number;
}

const BIN_SECONDS = Float64Array.from({ length: LEVELS }, (_, level) => FINEST_BIN_S * 2 ** level);
/** Bins of a level lie in a ring: the low bits of a bin's number are its place. */
const RING = BINS_PER_LEVEL - 1;

/** The seconds that one bin of a level covers. */
export function binSeconds(level: number): number {
  return BIN_SECONDS[level] ?? FINEST_BIN_S;
}

export class Bins {
  readonly stamps = new Int32Array(SLOTS).fill(-1);
  readonly median = new Float32Array(SLOTS);
  readonly worst = new Float32Array(SLOTS);
  readonly damage = new Float32Array(SLOTS);
  readonly speech = new Float32Array(SLOTS);
  readonly weight = new Float32Array(SLOTS);
  readonly deaf = new Uint8Array(SLOTS);
  /** When the row last reported, in seconds of the console's clock; −∞ before the first report. */
  lastAt = Number.NEGATIVE_INFINITY;
  /** When the row first reported as far as is known; +∞ before that. */
  firstAt = Number.POSITIVE_INFINITY;

  /** Takes a report of the moment `at`; a short pause since the one before is filled with it. */
  add(at: number, sample: Sample): void {
    const since = at - this.lastAt;
    if (since <= 0) return;
    const from = since <= BRIDGED_S ? this.lastAt : at - FINEST_BIN_S;
    const first = Math.floor(from / FINEST_BIN_S) + 1;
    const last = Math.max(Math.floor(at / FINEST_BIN_S), first);
    for (let bin = first; bin <= last; bin += 1) this.addEverywhere(bin * FINEST_BIN_S, sample);
    this.lastAt = at;
    this.firstAt = Math.min(this.firstAt, at);
  }

  /** Puts a sample into the bin of one level that contains `at`; for filling in the past. */
  put(level: number, at: number, sample: Sample, weight: number): void {
    const bin = Math.floor(at / binSeconds(level) + 1e-6);
    const slot = level * BINS_PER_LEVEL + (bin & RING);
    const stamp = this.stamps[slot] ?? -1;
    if (stamp > bin) return;
    if (stamp < bin) this.clear(slot, bin);
    this.merge(slot, sample, weight);
  }

  /** The slot of the bin of that level that contains `at`, or −1 where nothing was reported. */
  slotAt(level: number, at: number): number {
    return this.slotOf(level, Math.floor(at / binSeconds(level)));
  }

  /** The slot of a level's bin by its number, or −1 where nothing was reported. */
  slotOf(level: number, bin: number): number {
    const slot = level * BINS_PER_LEVEL + (bin & RING);
    return this.stamps[slot] === bin ? slot : -1;
  }

  private addEverywhere(at: number, sample: Sample): void {
    for (let level = 0; level < LEVELS; level += 1) this.put(level, at, sample, 1);
  }

  private clear(slot: number, bin: number): void {
    this.stamps[slot] = bin;
    this.median[slot] = Number.NaN;
    this.worst[slot] = Number.NaN;
    this.damage[slot] = 0;
    this.speech[slot] = 0;
    this.weight[slot] = 0;
    this.deaf[slot] = 0;
  }

  /** Damage keeps the most, the worst the least, speech and level their mean, deafness the latest. */
  private merge(slot: number, sample: Sample, weight: number): void {
    const before = this.weight[slot] ?? 0;
    const share = weight / (before + weight);
    this.median[slot] = blend(this.median[slot] ?? Number.NaN, sample.median, share);
    this.worst[slot] = least(this.worst[slot] ?? Number.NaN, sample.worst);
    this.damage[slot] = Math.max(this.damage[slot] ?? 0, sample.damage);
    this.speech[slot] = (this.speech[slot] ?? 0) * (1 - share) + sample.speech * share;
    this.weight[slot] = before + weight;
    this.deaf[slot] = sample.deaf;
  }
}

function blend(old: number, fresh: number, share: number): number {
  if (Number.isNaN(old)) return fresh;
  if (Number.isNaN(fresh)) return old;
  return old + (fresh - old) * share;
}

function least(a: number, b: number): number {
  if (Number.isNaN(a)) return b;
  if (Number.isNaN(b)) return a;
  return Math.min(a, b);
}
