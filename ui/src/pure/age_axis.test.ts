import { expect, test } from "vitest";
import { AXIS_END_S, ageAt, axisPosition } from "./age_axis";

test("the axis runs from now to two hours", () => {
  expect(axisPosition(0)).toBe(0);
  expect(axisPosition(AXIS_END_S)).toBe(1);
  expect(axisPosition(-3)).toBe(0);
  expect(axisPosition(1e9)).toBe(1);
});

test("marks stand where the formula u = ln(1 + age / 5 s) puts them", () => {
  // Worked by hand: ln 4 = 1.386294, ln 13 = 2.564949, ln 721 = 6.580639, and ln 1441 = 7.273093 for the end.
  expect(axisPosition(15)).toBeCloseTo(1.386294 / 7.273093, 6);
  expect(axisPosition(60)).toBeCloseTo(2.564949 / 7.273093, 6);
  expect(axisPosition(3600)).toBeCloseTo(6.580639 / 7.273093, 6);
});

test("position and age are each other's inverse", () => {
  for (const age of [0, 0.1, 1, 15, 61, 1234, 7200]) expect(ageAt(axisPosition(age))).toBeCloseTo(age, 6);
});
