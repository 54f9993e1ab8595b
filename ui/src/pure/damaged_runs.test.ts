import { expect, test } from "vitest";
import { damagedRuns } from "./damaged_runs";

test("neighbouring damaged cells are one run", () => {
  const damage = new Float32Array(100);
  damage.set([0.1, 0.5, 0.01], 10);
  damage.set([1], 20);
  expect(damagedRuns(damage, 0.02)).toEqual([
    { first: 10, last: 11 },
    { first: 20, last: 20 },
  ]);
});

test("cells too old to compare make no run", () => {
  const damage = new Float32Array(100);
  damage.set([1], 90);
  expect(damagedRuns(damage, 0.02)).toEqual([]);
});
