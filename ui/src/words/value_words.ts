import type { Capability } from "../protocol/model";
import { displayUnit, shownNumber } from "../pure/display_unit";
import type { ValueProblem } from "../pure/value_problem";
import { words } from "./english";
import { specialWord } from "./field_words";

type Value = boolean | number | string;

/** What a value is worth: which setting or argument it is of, its unit and its shape. */
export type Shape = Pick<Capability, "field" | "unit" | "schema">;

/** A setting's value with its unit. */
export function valueWords(value: Value, capability: Shape): string {
  const special = specialWord(capability.field, value);
  if (special !== null) return special;
  if (typeof value === "boolean") return value ? words.control.on : words.control.off;
  if (typeof value === "string") return value.replaceAll("_", " ");
  return `${shownNumber(value, capability)} ${displayUnit(capability).unit}`.trim();
}

/** A value without a unit: codes in words, switches on or off. */
export function valueText(value: Value): string {
  if (typeof value === "boolean") return value ? words.control.on : words.control.off;
  return `${value}`.replaceAll("_", " ");
}

/** Why a value can't be asked for. */
export function problemWords(problem: ValueProblem, capability: Shape): string {
  switch (problem.kind) {
    case "not a number":
      return words.problems.notNumber;
    case "too small":
      return words.problems.atLeast(valueWords(problem.bound, capability));
    case "too large":
      return words.problems.atMost(valueWords(problem.bound, capability));
    case "off the step":
      return words.problems.step(
        `${problem.step / displayUnit(capability).factor} ${displayUnit(capability).unit}`.trim(),
      );
    case "too long":
      return words.problems.tooLong(problem.bound);
  }
}
