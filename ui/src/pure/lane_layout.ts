/** Where the lanes of a plan, its axis and its product field stand in a picture, in CSS pixels from the top. */

export interface Stretched {
  readonly top: number;
  readonly height: number;
}

export interface LaneLayout {
  readonly height: number;
  /** The names of blocks and exclusions. */
  readonly names: Stretched;
  readonly lanes: readonly Stretched[];
  readonly axis: Stretched;
  readonly third: Stretched;
  readonly fifth: Stretched;
}

const NAMES = 24;
const AXIS = 30;
const LEAST_LANE = 26;
const MOST_LANE = 170;
const LEAST_FIELD = 96;
const FIELD_SHARE = 0.36;
/** Of the field, the third order has so much: it is the one that hurts. */
const THIRD_SHARE = 0.64;

/** The layout for so many lanes in a height; where they don't fit it is higher than that, and scrolls. */
export function laneLayout(height: number, lanes: number): LaneLayout {
  const rest = height - NAMES - AXIS;
  const each = Math.floor(Math.min((rest * (1 - FIELD_SHARE)) / Math.max(lanes, 1), MOST_LANE));
  const lane = Math.max(each, LEAST_LANE);
  const field = Math.max(rest - lane * lanes, LEAST_FIELD);
  const axisTop = NAMES + lane * lanes;
  const third = Math.round(field * THIRD_SHARE);
  return {
    height: axisTop + AXIS + field,
    names: { top: 0, height: NAMES },
    lanes: Array.from({ length: lanes }, (_, index) => ({ top: NAMES + index * lane, height: lane })),
    axis: { top: axisTop, height: AXIS },
    third: { top: axisTop + AXIS, height: third },
    fifth: { top: axisTop + AXIS + third, height: field - third },
  };
}
