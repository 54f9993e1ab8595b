import { AXIS_MARKS_S, ageAt, axisPosition } from "../pure/age_axis";
import { BINS_PER_LEVEL, binSeconds, LEVELS } from "../pure/bins";

/** What each pixel column of a strand stands for; made once per width. */
export interface StrandAxis {
  readonly width: number;
  /** The ages at the column's near and far edge, in seconds. */
  readonly near: Float64Array;
  readonly far: Float64Array;
  /** The level of bins that is just fine enough for the column and reaches back so far. */
  readonly level: Uint8Array;
  /** How strongly damage of that age is drawn, 1 to 0. */
  readonly strength: Float32Array;
  readonly marked: Uint8Array;
}

const DAMAGE_STRENGTH_LEAST = 0.45;

/** The strand's axis over so many pixels, from an age at the left to one at the right. */
export function logarithmicAxis(width: number): StrandAxis {
  const axis = axisOf(width, (edge) => ageAt(edge / width));
  for (const age of AXIS_MARKS_S) axis.marked[Math.round(axisPosition(age) * width)] = 1;
  return axis;
}

/** An axis with even steps of time, now at the right, for the history of one row. */
export function linearAxis(width: number, spanSeconds: number, endAge: number): StrandAxis {
  return axisOf(width, (edge) => endAge + (1 - edge / width) * spanSeconds);
}

function axisOf(width: number, age: (edge: number) => number): StrandAxis {
  const axis = {
    width,
    near: new Float64Array(width),
    far: new Float64Array(width),
    level: new Uint8Array(width),
    strength: new Float32Array(width),
    marked: new Uint8Array(width),
  };
  for (let x = 0; x < width; x += 1) {
    const [one, other] = [age(x), age(x + 1)];
    axis.near[x] = Math.min(one, other);
    axis.far[x] = Math.max(one, other);
    axis.level[x] = levelFor(Math.abs(other - one), Math.max(one, other));
    axis.strength[x] = 1 - (1 - DAMAGE_STRENGTH_LEAST) * axisPosition(Math.min(one, other));
  }
  return axis;
}

function levelFor(seconds: number, age: number): number {
  let level = 0;
  while (level + 1 < LEVELS && binSeconds(level + 1) <= seconds) level += 1;
  while (level + 1 < LEVELS && age > binSeconds(level) * (BINS_PER_LEVEL - 2)) level += 1;
  return level;
}
