import { expect, test } from "vitest";
import { findStripes } from "./stripes";

test("three rows within a second are one stripe, with the longest damage", () => {
  const stripes = findStripes([
    { row: 4, at: 100.6, seconds: 0.2 },
    { row: 1, at: 100, seconds: 0.4 },
    { row: 2, at: 100.3, seconds: 0.1 },
    { row: 7, at: 130, seconds: 5 },
  ]);
  expect(stripes).toEqual([{ at: 100, rows: [1, 2, 4], worstSeconds: 0.4 }]);
});

test("two rows, or one row three times, are none", () => {
  const incident = (row: number, at: number) => ({ row, at, seconds: 0.1 });
  expect(findStripes([incident(1, 5), incident(2, 5)])).toEqual([]);
  expect(findStripes([incident(1, 5), incident(1, 5.3), incident(1, 5.9)])).toEqual([]);
});

test("a length that isn't known is not made up", () => {
  const [stripe] = findStripes([1, 2, 3].map((row) => ({ row, at: 5, seconds: row === 2 ? Number.NaN : 1 })));
  expect(stripe?.worstSeconds).toBeNaN();
});
