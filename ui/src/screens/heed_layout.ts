/** How high the rows of the live watch are: all on one screen where they stay legible. */

export interface FieldSize {
  readonly height: number;
  readonly rows: number;
  readonly zones: number;
  readonly narrow: boolean;
}

const LEAST_ROW = 20;
const MOST_ROW = 84;
const NARROW_ROW = 48;
const ZONE_SHARE = 0.62;
const LEAST_ZONE = 18;
const MOST_ZONE = 24;

export interface RowSizes {
  readonly row: number;
  readonly zone: number;
  /** Sizes of type in pixels. */
  readonly part: number;
  readonly number: number;
  readonly bar: number;
}

/** The sizes for a field; rows below the least height scroll instead. */
export function rowSizes(field: FieldSize): RowSizes {
  if (field.narrow) return { row: NARROW_ROW, zone: 28, part: 17, number: 16, bar: 6 };
  const even = field.height / Math.max(field.rows + field.zones * ZONE_SHARE, 1);
  const zone = Math.round(Math.min(Math.max(even * ZONE_SHARE, LEAST_ZONE), MOST_ZONE));
  const rest = (field.height - zone * field.zones) / Math.max(field.rows, 1);
  const row = Math.floor(Math.min(Math.max(rest, LEAST_ROW), MOST_ROW));
  return {
    row,
    zone,
    part: Math.round(Math.min(Math.max(row * 0.6, 15), 26)),
    number: row >= 30 ? 17 : 15,
    bar: Math.round(Math.min(Math.max(row * 0.19, 4), 10)),
  };
}

/** The order of rows and headings: a heading wherever the zone changes. */
export function zoneStarts(zones: readonly string[]): boolean[] {
  return zones.map((zone, index) => zone !== "" && zone !== zones[index - 1]);
}
