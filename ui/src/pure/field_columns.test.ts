import { expect, test } from "vitest";
import { depthOf, fieldColumns } from "./field_columns";

const field = { start_hz: 1000, step_hz: 100, counts: [1, 0, 3, 8] };

test("each column has the mean and the most of its points", () => {
  const { mean, most } = fieldColumns(field, { fromHz: 950, toHz: 1350 }, 2);
  expect([...mean]).toEqual([0.5, 5.5]);
  expect([...most]).toEqual([1, 8]);
});

test("seen closely, a point is as wide as its step", () => {
  const { most } = fieldColumns(field, { fromHz: 1150, toHz: 1350 }, 4);
  expect([...most]).toEqual([3, 3, 8, 8]);
});

test("beyond the field nothing falls", () => {
  const { mean, most } = fieldColumns(field, { fromHz: 0, toHz: 900 }, 3);
  expect([...mean, ...most]).toEqual([0, 0, 0, 0, 0, 0]);
});

test("no single product is lost in a wide view", () => {
  const counts = new Uint32Array(100_000);
  counts[70_001] = 1;
  const { most } = fieldColumns({ start_hz: 0, step_hz: 1, counts }, { fromHz: 0, toHz: 100_000 }, 390);
  expect(Math.max(...most)).toBe(1);
});

test("a count hangs deeper than a lesser one, none not at all", () => {
  expect(depthOf(0, 100)).toBe(0);
  expect(depthOf(100, 100)).toBe(1);
  expect(depthOf(1, 100)).toBeGreaterThan(0.1);
  expect(depthOf(10, 100)).toBeGreaterThan(depthOf(9, 100));
});
