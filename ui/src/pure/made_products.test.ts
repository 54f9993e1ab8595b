import { expect, test } from "vitest";
import { madeProducts } from "./made_products";

function placesOf(carrier: number, others: readonly number[]): number[] {
  const { first, counts } = madeProducts(carrier, others);
  return [...counts].flatMap((count, index) => Array.from({ length: count }, () => first + index));
}

test("of two carriers there are two, one step beyond each", () => {
  expect(placesOf(100, [104])).toEqual([96, 108]);
});

// By hand: 2a − b, 2b − a for b = 4 and c = 10 from a = 0: −4, −10, 8, 20; a + b − c = −6, a + c − b = 6, b + c − a = 14.
test("of three carriers, as written out by hand", () => {
  expect(placesOf(0, [4, 10])).toEqual([-10, -6, -4, 6, 8, 14, 20]);
});

// Of N carriers each has a part in 2(N − 1) products of two and 3(N − 1)(N − 2)/2 of three.
test.each([2, 3, 10, 100])("of %i carriers there are as many as combinations say", (carriers) => {
  const others = Array.from({ length: carriers - 1 }, (_, index) => (index + 1) ** 2);
  const expected = 2 * (carriers - 1) + (3 * (carriers - 1) * (carriers - 2)) / 2;
  expect(placesOf(0, others)).toHaveLength(expected);
});

test("a carrier by itself makes none", () => {
  expect(placesOf(7, [])).toEqual([]);
});
