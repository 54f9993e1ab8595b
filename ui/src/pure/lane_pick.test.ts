import { expect, test } from "vitest";
import { across, beside, nearestIn } from "./lane_pick";

const carriers = [
  { zone: "House", frequencyHz: 470 },
  { zone: "House", frequencyHz: 474 },
  { zone: "Camera", frequencyHz: 472 },
  { zone: "Camera", frequencyHz: 470 },
];
const zones = ["House", "Quay", "Camera"];

test("the pointer means the nearest of its lane, within reach", () => {
  expect(nearestIn(carriers, "House", 472.1, 3)).toBe(1);
  expect(nearestIn(carriers, "House", 472.1, 1)).toBe(-1);
  expect(nearestIn(carriers, "Quay", 472.1, 9)).toBe(-1);
});

test("keys walk along the axis through all lanes and stop at the ends", () => {
  expect(beside(carriers, -1, 1)).toBe(0);
  expect(beside(carriers, 0, 1)).toBe(3);
  expect(beside(carriers, 3, 1)).toBe(2);
  expect(beside(carriers, 1, 1)).toBe(1);
  expect(beside(carriers, -1, -1)).toBe(1);
  expect(beside([], -1, 1)).toBe(-1);
});

test("and from lane to lane, over empty ones", () => {
  expect(across(carriers, zones, 1, 1)).toBe(2);
  expect(across(carriers, zones, 2, -1)).toBe(1);
  expect(across(carriers, zones, 1, -1)).toBe(1);
  expect(across(carriers, zones, -1, 1)).toBe(0);
});
