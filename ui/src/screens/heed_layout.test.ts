import { expect, test } from "vitest";
import { rowSizes, zoneStarts } from "./heed_layout";

/** The heights that head, slots, axis and foot leave on the two desk screens. */
const FULL_HD = 860;
const LAPTOP = 586;

test("24 rows in three zones stand on one screen without scrolling", () => {
  for (const height of [FULL_HD, LAPTOP]) {
    const sizes = rowSizes({ height, rows: 24, zones: 3, narrow: false });
    expect(24 * sizes.row + 3 * sizes.zone).toBeLessThanOrEqual(height);
    expect(sizes.part).toBeGreaterThanOrEqual(15);
    expect(sizes.number).toBeGreaterThanOrEqual(15);
  }
});

test("eight rows are tall, forty fill one full-HD screen, two hundred scroll", () => {
  expect(rowSizes({ height: FULL_HD, rows: 8, zones: 1, narrow: false }).row).toBe(84);
  const forty = rowSizes({ height: FULL_HD, rows: 40, zones: 3, narrow: false });
  expect(40 * forty.row + 3 * forty.zone).toBeLessThanOrEqual(FULL_HD);
  expect(rowSizes({ height: FULL_HD, rows: 200, zones: 3, narrow: false }).row).toBe(20);
});

test("on a phone a row is large enough for a finger", () => {
  expect(rowSizes({ height: 600, rows: 24, zones: 3, narrow: true }).row).toBeGreaterThanOrEqual(44);
});

test("a heading stands wherever the zone changes", () => {
  expect(zoneStarts(["House", "House", "Quay", "", "Quay"])).toEqual([true, false, true, false, true]);
});
