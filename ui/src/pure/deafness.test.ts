import { expect, test } from "vitest";
import { Deafness } from "./deafness";

test("a branch far below the better one for a second is deaf", () => {
  const deafness = new Deafness();
  for (let at = 0; at < 0.95; at += 0.1) {
    deafness.take(at, [-60, -110], -60);
    expect(deafness.bits).toBe(0);
  }
  deafness.take(1, [-60, -110], -60);
  expect(deafness.bits).toBe(2);
});

test("a deep fade is not deafness, and an absent level neither", () => {
  const deafness = new Deafness();
  deafness.take(0, [-60, -95], -60);
  deafness.take(0.5, [-60, -62], -60);
  deafness.take(1.2, [-60, -95], -60);
  expect(deafness.bits).toBe(0);
  deafness.take(5, [-60, Number.NaN], -60);
  expect(deafness.bits).toBe(0);
});
