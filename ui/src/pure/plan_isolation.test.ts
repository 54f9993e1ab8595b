import { expect, test } from "vitest";
import { isolationBetween, withIsolation } from "./plan_isolation";
import { EMPTY_REQUEST } from "./plan_request";

test("two zones hear one another until it was measured that they don't, in either order", () => {
  expect(isolationBetween(EMPTY_REQUEST, ["House", "Quay"])).toBeUndefined();
  const apart = withIsolation(EMPTY_REQUEST, ["House", "Quay"], null);
  expect(isolationBetween(apart, ["Quay", "House"])).toBeNull();
  const measured = withIsolation(apart, ["Quay", "House"], 35);
  expect(isolationBetween(measured, ["House", "Quay"])).toBe(35);
  expect(measured.isolation).toHaveLength(1);
  expect(withIsolation(measured, ["House", "Quay"], undefined).isolation).toEqual([]);
});
