import type { Place, TableView } from "../protocol/model";
import { Quality } from "../protocol/quality";
import type { FrameColumn, ReadingsFrame } from "../pure/frames";
import { ABSENT, type Reading } from "../pure/reading";

const AGE_OLDEST = 65535;
/** Without a frame for this long a value that was good is uncertain, whatever it said of itself. */
const FRAME_LATE_S = 2;

interface Table {
  view: TableView;
  rowOf: Map<string, number>;
  columnOf: Map<string, number>;
  columns: (FrameColumn | undefined)[];
  at: number;
  epoch: number;
}

/** The latest frame of each table, and where everything stands in it. */
export class LiveTables {
  private readonly tables = new Map<Place, Table>();

  /** Takes the shapes of all tables, as a snapshot or a growth of rows tells them. */
  shape(views: readonly TableView[]): void {
    for (const view of views) {
      const before = this.tables.get(view.place);
      this.tables.set(view.place, {
        view,
        rowOf: new Map(view.rows.map((address, row) => [address, row])),
        columnOf: new Map(view.columns.map((column, index) => [column.name, index])),
        columns: before?.columns ?? [],
        at: before?.at ?? Number.NEGATIVE_INFINITY,
        epoch: before?.epoch ?? -1,
      });
    }
  }

  /** Forgets all values, before a snapshot of another epoch. */
  clear(): void {
    this.tables.clear();
  }

  /** Takes a frame that was made at `at` seconds. */
  take(frame: ReadingsFrame, at: number): void {
    const table = this.tables.get(frame.table);
    if (table === undefined) return;
    if (table.epoch !== frame.epoch) table.columns = [];
    table.epoch = frame.epoch;
    for (const column of frame.columns) table.columns[column.index] = column;
    table.at = at;
  }

  /** The addresses of a table's rows. */
  rows(place: Place): readonly string[] {
    return this.tables.get(place)?.view.rows ?? [];
  }

  /** The words of a coded reading, by number. */
  choices(place: Place, name: string): readonly string[] {
    const table = this.tables.get(place);
    return table?.view.columns[table.columnOf.get(name) ?? -1]?.choices ?? [];
  }

  /** One value as it stands at `now` seconds. */
  reading(place: Place, address: string, name: string, now: number): Reading {
    const table = this.tables.get(place);
    const row = table?.rowOf.get(address);
    const column = table?.columns[table.columnOf.get(name) ?? -1];
    if (table === undefined || row === undefined || column === undefined) return ABSENT;
    const quality = (column.qualities[row] ?? Quality.Absent) as Quality;
    if (quality === Quality.Absent) return ABSENT;
    const tenths = column.ages[row] ?? AGE_OLDEST;
    const late = Math.max(now - table.at, 0);
    const ageS = tenths === AGE_OLDEST ? Number.POSITIVE_INFINITY : tenths / 10 + late;
    const tooOld = quality === Quality.Good && late > FRAME_LATE_S;
    return { value: column.values[row] ?? Number.NaN, quality: tooOld ? Quality.Uncertain : quality, ageS };
  }
}
