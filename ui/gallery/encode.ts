import { FIELDS } from "../src/protocol/fields";
import type { ColumnView, Place, TableView } from "../src/protocol/model";
import { TABLES } from "../src/pure/frames";

/** One row's values by reading; a reading that is left out is absent. */
export type RowValues = Readonly<Record<string, number>>;

const COLUMN_PLACES: readonly Place[] = ["device", "carrier", "branch", "channel", "pack", "output", "input", "bay"];

/** The columns of a place's table in the catalogue's order. */
export function columnsOf(place: Place): ColumnView[] {
  return FIELDS.filter((field) => field.place === place && field.job === "reading")
    .filter((field) => field.kind !== "text" && field.kind !== "integer")
    .map(({ name, kind, unit, choices }) => ({ name, unit, choices, plane: kind === "number" ? "float32" : "uint8" }));
}

export function tableOf(place: Place, rows: readonly string[]): TableView {
  return { place, rows, columns: columnsOf(place) };
}

class Writer {
  private readonly bytes: number[] = [];

  u8(value: number): void {
    this.bytes.push(value & 255);
  }

  /** Little-endian. */
  integer(value: number, size: number): void {
    let rest = value;
    for (let index = 0; index < size; index += 1) {
      this.bytes.push(rest % 256);
      rest = Math.floor(rest / 256);
    }
  }

  float(value: number): void {
    this.bytes.push(...new Uint8Array(Float32Array.of(value).buffer));
  }

  pad(): void {
    while (this.bytes.length % 4 !== 0) this.bytes.push(0);
  }

  buffer(): ArrayBuffer {
    return Uint8Array.from(this.bytes).buffer;
  }
}

/** The time of a frame on both of the console's scales, in microseconds. */
export interface FrameTime {
  readonly utcUs: number;
  readonly monotonicUs: number;
}

/** A readings frame; a row given as null keeps its values' age growing by being left uncertain. */
export function encodeReadings(
  table: TableView,
  rows: readonly RowValues[],
  time: FrameTime,
  ages: readonly number[],
): ArrayBuffer {
  const out = new Writer();
  for (const byte of [1, 1, TABLES.indexOf(table.place), table.columns.length]) out.u8(byte);
  for (const word of [rows.length, 1, 0]) out.integer(word, 4);
  out.integer(time.utcUs, 8);
  out.integer(time.monotonicUs, 8);
  for (const [index, column] of table.columns.entries()) {
    out.integer(index, 2);
    out.u8(column.plane === "float32" ? 0 : 1);
    out.u8(0);
    for (const row of rows) {
      const value = row[column.name];
      if (column.plane === "float32") out.float(value ?? Number.NaN);
      else out.u8(value ?? 0);
    }
    out.pad();
    for (const [at, row] of rows.entries()) out.u8(row[column.name] === undefined ? 0 : (ages[at] ?? 0) > 2 ? 2 : 1);
    out.pad();
    for (const at of rows.keys()) out.integer(Math.min(Math.round((ages[at] ?? 0) * 10), 65535), 2);
    out.pad();
  }
  return out.buffer();
}

/** One cell of the recent past. */
export interface RecentCell {
  readonly median: number;
  readonly worst: number;
  readonly damage: number;
  readonly speech: number;
  readonly reported: number;
  readonly deaf: number;
}

/** A recent message of rows × cells, now first. */
export function encodeRecent(rows: readonly (readonly RecentCell[])[], time: FrameTime): ArrayBuffer {
  const out = new Writer();
  const cells = rows[0]?.length ?? 0;
  for (const byte of [2, 1, TABLES.indexOf("channel"), 0]) out.u8(byte);
  for (const word of [rows.length, 1, cells]) out.integer(word, 4);
  out.integer(time.utcUs, 8);
  out.integer(time.monotonicUs, 8);
  const all = rows.flat();
  const level = (value: number) => (Number.isNaN(value) ? 0x8000 : (Math.round(value * 10) + 65536) % 65536);
  for (const cell of all) out.integer(level(cell.median), 2);
  out.pad();
  for (const cell of all) out.integer(level(cell.worst), 2);
  out.pad();
  for (const share of ["damage", "speech", "reported"] as const) {
    for (const cell of all) out.u8(Math.round(cell[share] * 255));
    out.pad();
  }
  for (const cell of all) out.u8(cell.deaf);
  out.pad();
  return out.buffer();
}

export { COLUMN_PLACES };
