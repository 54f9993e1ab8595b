/** A band of the picture, in CSS pixels from its top. */
export interface Band {
  readonly top: number;
  readonly height: number;
}

/** Where each layer of a spectrum lies. A layer that isn't shown has no height. */
export interface SpectrumLayout {
  readonly width: number;
  readonly height: number;
  /** Where the frequency axis begins and how wide it is. */
  readonly left: number;
  readonly across: number;
  readonly blocks: Band;
  readonly own: Band;
  readonly levels: Band;
  readonly often: Band;
  readonly change: Band;
  readonly room: Band;
  readonly axis: Band;
  readonly whole: Band;
}

export interface Wanted {
  readonly width: number;
  readonly height: number;
  readonly own: boolean;
  readonly often: boolean;
  readonly change: boolean;
  readonly room: boolean;
  /** Whether a finger must hit it. */
  readonly coarse: boolean;
}

const NARROW = 760;
const GUTTER = 132;
const RIGHT = 14;
/** In a smaller picture the whole isn't drawn once more. */
const SMALL = 340;

/** Lays the layers out below each other; what is left over goes to the levels. */
export function layOut({ width, height, own, often, change, room, coarse }: Wanted): SpectrumLayout {
  const narrow = width < NARROW;
  const left = narrow ? 8 : GUTTER;
  const heights = {
    blocks: 26,
    own: own ? 24 : 0,
    often: often ? Math.max(Math.round(height * 0.13), 34) : 0,
    change: change ? Math.max(Math.round(height * 0.12), 44) : 0,
    room: !room ? 0 : coarse || narrow ? 44 : 38,
    axis: 24,
    whole: height < SMALL ? 0 : coarse || narrow ? 44 : 34,
  };
  const levels = Math.max(height - Object.values(heights).reduce((sum, one) => sum + one, 0), 60);
  let top = 0;
  const band = (tall: number): Band => {
    const made = { top, height: tall };
    top += tall;
    return made;
  };
  return {
    width,
    height,
    left,
    across: Math.max(width - left - (narrow ? 8 : RIGHT), 1),
    blocks: band(heights.blocks),
    own: band(heights.own),
    levels: band(levels),
    often: band(heights.often),
    change: band(heights.change),
    room: band(heights.room),
    axis: band(heights.axis),
    whole: band(heights.whole),
  };
}

/** Which layer lies at a height. */
export function bandAt(layout: SpectrumLayout, y: number): "room" | "whole" | "picture" {
  const inside = (band: Band) => y >= band.top && y < band.top + band.height;
  if (inside(layout.room)) return "room";
  return inside(layout.whole) ? "whole" : "picture";
}

/** The least and the greatest level of the axis. */
export interface LevelRange {
  readonly least: number;
  readonly most: number;
}

const LEAST_WITHOUT_FLOOR_DBM = -120;
const MOST_AT_LEAST_DBM = -50;
const UNDER_FLOOR_DB = 2;

/** The levels from the floor, which is the horizon of the picture, to the strongest of all. */
export function levelRange(levels: readonly ArrayLike<number | null>[], floor: readonly number[]): LevelRange {
  let most = MOST_AT_LEAST_DBM - 5;
  for (const one of levels) {
    for (let index = 0; index < one.length; index += 1) {
      const level = one[index] ?? Number.NaN;
      if (level > most) most = level;
    }
  }
  const least = floor.length === 0 ? LEAST_WITHOUT_FLOOR_DBM : Math.min(...floor) - UNDER_FLOOR_DB;
  return { least, most: Math.ceil((most + 4) / 10) * 10 };
}
