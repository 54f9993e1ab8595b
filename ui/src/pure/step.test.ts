import { expect, test } from "vitest";
import { decimalsOf, stepped, tidy } from "./step";

test("steps count from the minimum", () => {
  expect(stepped(-11, 1, { minimum: -12, maximum: 24, step: 3 })).toBe(-9);
  expect(stepped(-9, -1, { minimum: -12, maximum: 24, step: 3 })).toBe(-12);
});

test("a value off the step goes to the next one on it", () => {
  expect(stepped(0.3, 1, { minimum: null, maximum: null, step: 0.5 })).toBe(0.5);
  expect(stepped(0.3, -1, { minimum: null, maximum: null, step: 0.5 })).toBe(0);
});

test("bounds hold", () => {
  expect(stepped(24, 1, { minimum: -12, maximum: 24, step: 1 })).toBe(24);
  expect(stepped(-12, -1, { minimum: -12, maximum: 24, step: 1 })).toBe(-12);
});

test("no dust of binary fractions is left", () => {
  expect(stepped(0.2, 1, { minimum: 0, maximum: 1, step: 0.1 })).toBe(0.3);
  expect(tidy(0.1 + 0.2, { minimum: null, maximum: null, step: 0.1 })).toBe(0.3);
});

test("decimals are those of the step", () => {
  expect([1, 0.5, 0.025, 25_000].map((step) => decimalsOf(step))).toEqual([0, 1, 3, 0]);
});
