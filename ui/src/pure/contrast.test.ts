import { expect, test } from "vitest";
import { contrast, parseColour } from "./contrast";

const ratio = (one: string, other: string) => contrast(parseColour(one), parseColour(other));

test("contrast ratios as computed from the formula of WCAG 2.2 by an independent library", () => {
  // wcag-contrast-ratio gives 21.00 and 4.478; the others follow from the formula, tolerance 0.005.
  expect(ratio("#000000", "#ffffff")).toBeCloseTo(21, 2);
  expect(ratio("#777777", "#ffffff")).toBeCloseTo(4.478, 2);
  expect(ratio("#767676", "#ffffff")).toBeCloseTo(4.542, 2);
  expect(ratio("#595959", "#ffffff")).toBeCloseTo(7.005, 2);
  expect(ratio("#ff0000", "#ffffff")).toBeCloseTo(3.998, 2);
  expect(ratio("#ffff00", "#000000")).toBeCloseTo(19.556, 2);
  expect(ratio("#e69f00", "#202020")).toBeCloseTo(7.23, 2);
});

test("short colours are the long ones", () => {
  expect(parseColour("#f0a")).toEqual([255, 0, 170]);
});

test("what is no colour is refused", () => {
  for (const text of ["red", "#12", "#1234567", ""]) expect(() => parseColour(text)).toThrow(RangeError);
});
