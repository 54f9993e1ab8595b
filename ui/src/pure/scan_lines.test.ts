import { describe, expect, it } from "vitest";
import type { Scan, ScanComparison } from "../protocol/model";
import { changesOf, joined, linesOf } from "./scan_lines";

const scan: Scan = {
  scan_id: "house-left",
  place: "House left",
  taken_at_utc_us: 0,
  instrument: "house-1/carrier/1",
  source: "act",
  file: "",
  simulated: true,
  calibrated: null,
  bandwidth_hz: 25_000,
  sweeps: 3,
  words: "",
  start_hz: 470e6,
  step_hz: 25_000,
  maximum_dbm: [-100, null, -60],
  median_dbm: [-104, null, -62],
  occupancy: [0, null, 1],
};

describe("the lines of a scan", () => {
  it("have no number where nothing was measured", () => {
    expect(Array.from(linesOf(scan).maximum.levels_dbm)).toEqual([-100, Number.NaN, -60].map(Math.fround));
    expect(linesOf(scan).occupancy?.levels_dbm.length).toBe(3);
  });

  it("say nothing of how often after one sweep", () => {
    expect(linesOf({ ...scan, sweeps: 1 })).toMatchObject({ median: null, occupancy: null });
  });

  it("keep what came and what went apart, so that neither hides the other", () => {
    const comparison: ScanComparison = {
      before: "a",
      after: "b",
      start_hz: 470e6,
      step_hz: 25_000,
      difference_db: [30, -20, null],
      changes: [],
      floor_change_db: 0,
      words: [],
    };
    const { rise, fall } = changesOf(comparison);
    expect(Array.from(rise.levels_dbm)).toEqual([30, -20, Number.NaN]);
    expect(Array.from(fall.levels_dbm)).toEqual([-30, 20, Number.NaN]);
  });

  it("are joined of stretches as they come, the greater level kept where two overlap", () => {
    expect(joined([])).toBeNull();
    const line = joined([
      { start_hz: 470_050_000, step_hz: 25_000, levels_dbm: [-90, -80] },
      { start_hz: 470_000_000, step_hz: 25_000, levels_dbm: [-100, null, -95] },
    ]);
    expect(line).toMatchObject({ start_hz: 470_000_000, step_hz: 25_000 });
    expect(Array.from(line?.levels_dbm ?? [])).toEqual([-100, Number.NaN, -90, -80]);
  });
});
