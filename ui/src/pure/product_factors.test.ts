import { expect, test } from "vitest";
import { productFactors, productSum } from "./product_factors";

test.each([
  ["2A-B", [2, -1]],
  ["A+B-C", [1, 1, -1]],
  ["3A-2B", [3, -2]],
  ["2A+B-C-D", [2, 1, -1, -1]],
  ["A+B+C-2D", [1, 1, 1, -2]],
])("%s", (family, factors) => {
  expect(productFactors(family)).toEqual(factors);
  expect(factors.reduce((sum, one) => sum + one)).toBe(1);
});

test("is written as people would reckon it", () => {
  expect(productSum("2A-B", [518, 517], String)).toBe("2 × 518 − 517");
  expect(productSum("A+B-C", [1, 2, 3], String)).toBe("1 + 2 − 3");
});
