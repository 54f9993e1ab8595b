import { expect, test } from "vitest";
import type { ValueSchema } from "../protocol/model";
import { valueProblem } from "./value_problem";

const gain: ValueSchema = { type: "number", minimum: -12, maximum: 24, multiple_of: 0.1, enum: [], maximum_length: 64 };

test("a value on its step within its bounds is allowed", () => {
  for (const value of [-12, -11.9, 0.3, 24]) expect(valueProblem(value, gain)).toBeNull();
});

test("each kind of wrong value has its reason", () => {
  expect(valueProblem(Number.NaN, gain)).toEqual({ kind: "not a number" });
  expect(valueProblem(-12.1, gain)).toEqual({ kind: "too small", bound: -12 });
  expect(valueProblem(25, gain)).toEqual({ kind: "too large", bound: 24 });
  expect(valueProblem(0.35, gain)).toEqual({ kind: "off the step", step: 0.1 });
  expect(valueProblem("x".repeat(65), { ...gain, type: "string" })).toEqual({ kind: "too long", bound: 64 });
});
