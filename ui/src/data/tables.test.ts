import { expect, test } from "vitest";
import type { TableView } from "../protocol/model";
import { Quality } from "../protocol/quality";
import type { ReadingsFrame } from "../pure/frames";
import { LiveTables } from "./tables";

const view: TableView = {
  place: "branch",
  rows: ["r-1/carrier/1/branch/a", "r-1/carrier/1/branch/b"],
  columns: [{ name: "rf_dbm", plane: "float32", unit: "dBm", choices: [] }],
};

function frame(qualities: number[], ages: number[], epoch = 1): ReadingsFrame {
  const column = {
    index: 0,
    values: Float32Array.of(-60, -70),
    qualities: Uint8Array.from(qualities),
    ages: Uint16Array.from(ages),
  };
  return {
    kind: "readings",
    table: "branch",
    rows: 2,
    epoch,
    sequence: 1,
    utcUs: 0,
    monotonicUs: 0,
    columns: [column],
  };
}

function filled(qualities: number[], ages: number[]): LiveTables {
  const tables = new LiveTables();
  tables.shape([view]);
  tables.take(frame(qualities, ages), 100);
  return tables;
}

test("a value comes with its quality and an age that goes on growing", () => {
  const tables = filled([Quality.Good, Quality.Uncertain], [1, 35]);
  expect(tables.reading("branch", view.rows[0] ?? "", "rf_dbm", 100.5)).toEqual({
    value: -60,
    quality: Quality.Good,
    ageS: 0.6,
  });
  expect(tables.reading("branch", view.rows[1] ?? "", "rf_dbm", 101).ageS).toBeCloseTo(4.5, 6);
});

test("without frames nothing stays good", () => {
  const tables = filled([Quality.Good, Quality.Good], [0, 0]);
  expect(tables.reading("branch", view.rows[0] ?? "", "rf_dbm", 102.5).quality).toBe(Quality.Uncertain);
});

test("absent is absent, whatever stands in the plane", () => {
  const tables = filled([Quality.Absent, Quality.Good], [0, 65535]);
  expect(tables.reading("branch", view.rows[0] ?? "", "rf_dbm", 100).value).toBeNaN();
  expect(tables.reading("branch", view.rows[1] ?? "", "rf_dbm", 100).ageS).toBe(Number.POSITIVE_INFINITY);
  expect(tables.reading("branch", "nowhere", "rf_dbm", 100).quality).toBe(Quality.Absent);
  expect(tables.reading("pack", "pack/k01", "asleep", 100).quality).toBe(Quality.Absent);
});

test("rows that are appended keep the frames that came before", () => {
  const tables = filled([Quality.Good, Quality.Good], [0, 0]);
  tables.shape([{ ...view, rows: [...view.rows, "r-2/carrier/1/branch/a"] }]);
  expect(tables.reading("branch", view.rows[1] ?? "", "rf_dbm", 100).value).toBe(-70);
  expect(tables.reading("branch", "r-2/carrier/1/branch/a", "rf_dbm", 100).quality).toBe(Quality.Absent);
});

test("frames of another epoch don't mix with those before", () => {
  const tables = filled([Quality.Good, Quality.Good], [0, 0]);
  tables.take({ ...frame([], [], 2), columns: [] }, 101);
  expect(tables.reading("branch", view.rows[0] ?? "", "rf_dbm", 101).quality).toBe(Quality.Absent);
});
