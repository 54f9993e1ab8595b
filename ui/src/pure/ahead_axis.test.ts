import { expect, test } from "vitest";
import { aheadAxis, lanesOf, shareOf, spanOf } from "./ahead_axis";

const MINUTE = 60e6;

test("the axis goes from now to the end, over half an hour at the least and four hours without a plan", () => {
  expect(aheadAxis(0, 90 * MINUTE).spanUs).toBe(90 * MINUTE);
  expect(aheadAxis(0, 4 * MINUTE).spanUs).toBe(30 * MINUTE);
  expect(aheadAxis(0, null).spanUs).toBe(240 * MINUTE);
});

test("a time stands where it falls, and what lies behind now or beyond the end is cut", () => {
  const axis = aheadAxis(100 * MINUTE, 200 * MINUTE);
  expect(shareOf(axis, 150 * MINUTE)).toBe(0.5);
  expect(spanOf(axis, 90 * MINUTE, 110 * MINUTE)).toEqual({ left: 0, width: 0.1 });
  expect(spanOf(axis, 190 * MINUTE, 210 * MINUTE)).toEqual({ left: 0.9, width: 0.09999999999999998 });
  expect(spanOf(axis, 80 * MINUTE, 100 * MINUTE)).toBeNull();
});

test("labels that would overlap go into lanes, and those that find none are counted out", () => {
  expect(lanesOf([0, 0.05, 0.3, 0.31, 0.32], 0.2, 2)).toEqual([0, 1, 0, 1, -1]);
  expect(lanesOf([], 0.2, 2)).toEqual([]);
});
