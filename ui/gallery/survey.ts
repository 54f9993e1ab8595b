import type { SpectrumTraces } from "../src/plots/spectrum";
import type { NamedBlock } from "../src/plots/spectrum_marks";
import type { Stretch } from "../src/pure/spectrum";

/** An invented survey of an invented room: nothing here is measured. */

export const START_HZ = 470_000_000;
export const STEP_HZ = 12_500;
const POINTS = 17_920;
export const FLOOR_DBM = -104;
const BLOCK_HZ = 8_000_000;
const BLOCK_USED_HZ = 7_610_000;
/** Broadcasters by block and level; the last is on only sometimes. */
const BROADCASTERS: readonly (readonly [block: number, dbm: number, share: number])[] = [
  [23, -71, 1],
  [24, -88, 1],
  [29, -64, 1],
  [35, -83, 1],
  [41, -76, 1],
  [46, -91, 0.4],
];
/** Narrow carriers by frequency, level and the share of time in which they are on. */
const CARRIERS: readonly (readonly [mhz: number, dbm: number, share: number])[] = [
  [486.4, -67, 1],
  [503.875, -79, 0.6],
  [538.1, -58, 0.08],
  [541.2, -90, 1],
  [566.025, -83, 0.9],
  [571.7, -62, 0.3],
  [606.35, -55, 1],
  [607.15, -59, 1],
  [608.6, -73, 0.2],
  [640.9, -88, 0.7],
  [671.3, -69, 1],
];

/** Noise that is the same each time, 0 to 1. */
function chance(index: number): number {
  const value = Math.sin(index * 12.9898 + 4.1414) * 43758.5453;
  return value - Math.floor(value);
}

export interface Signal {
  readonly fromHz: number;
  readonly toHz: number;
  readonly dbm: number;
  readonly share: number;
}

export function signals(later: boolean): Signal[] {
  const wide = BROADCASTERS.map(([block, dbm, share]) => {
    const middle = START_HZ + (block - 20.5) * BLOCK_HZ;
    return { fromHz: middle - BLOCK_USED_HZ / 2, toHz: middle + BLOCK_USED_HZ / 2, dbm, share };
  });
  const narrow = CARRIERS.map(([mhz, dbm, share]) => ({
    fromHz: mhz * 1e6 - 90_000,
    toHz: mhz * 1e6 + 90_000,
    dbm,
    share,
  }));
  const all = [...wide, ...narrow];
  return later ? all.filter((_, index) => index % 5 !== 2) : all.filter((_, index) => index % 7 !== 3);
}

/** A scan of many sweeps as its three lines. */
export function linesOf(later: boolean): readonly [maximum: Stretch, median: Stretch, occupancy: Stretch] {
  const lines = [0, 1, 2].map(() => new Float32Array(POINTS));
  const all = signals(later);
  for (let index = 0; index < POINTS; index += 1) {
    const hertz = START_HZ + index * STEP_HZ;
    const here = all.filter(({ fromHz, toHz }) => hertz >= fromHz && hertz <= toHz);
    const rough = (chance(index + (later ? 0 : 7)) - 0.5) * 3;
    const most = Math.max(FLOOR_DBM + 4, ...here.map((one) => one.dbm)) + rough;
    const half = Math.max(FLOOR_DBM, ...here.map((one) => (one.share >= 0.5 ? one.dbm - 2 : FLOOR_DBM)));
    for (const [line, value] of [most, half + rough / 2, Math.max(0, ...here.map((one) => one.share))].entries()) {
      const into = lines[line];
      if (into !== undefined) into[index] = value;
    }
  }
  const stretch = (levels: Float32Array | undefined): Stretch => ({
    start_hz: START_HZ,
    step_hz: STEP_HZ,
    levels_dbm: levels ?? [],
  });
  return [stretch(lines[0]), stretch(lines[1]), stretch(lines[2])];
}

const [maximum, median, occupancy] = linesOf(true);
const [before] = linesOf(false);

export const ROOM_TRACES: SpectrumTraces = {
  maximum,
  median,
  occupancy,
  against: null,
  rise: null,
  fall: null,
  old: false,
};
export const ONE_SWEEP: SpectrumTraces = { ...ROOM_TRACES, median: null, occupancy: null };

function more(one: Stretch, other: Stretch): Stretch {
  const levels_dbm = Float32Array.from(one.levels_dbm, (level, index) => (level ?? 0) - (other.levels_dbm[index] ?? 0));
  return { ...one, levels_dbm };
}

export const COMPARED: SpectrumTraces = {
  ...ROOM_TRACES,
  against: before,
  rise: more(maximum, before),
  fall: more(before, maximum),
};
export const OLD_SCAN: SpectrumTraces = { ...ROOM_TRACES, old: true };

export const BLOCKS: readonly NamedBlock[] = Array.from({ length: 28 }, (_, index) => ({
  name: `${21 + index}`,
  words: "",
  fromHz: START_HZ + index * BLOCK_HZ,
  toHz: START_HZ + (index + 1) * BLOCK_HZ,
}));
