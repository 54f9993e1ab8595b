import { expect, test } from "vitest";
import type { ValueSchema } from "../protocol/model";
import { displayUnit, shownNumber, typedNumber } from "./display_unit";

function numeric(unit: string, parts: Partial<ValueSchema>): { unit: string; schema: ValueSchema } {
  const schema = {
    type: "integer",
    minimum: null,
    maximum: null,
    multiple_of: null,
    enum: [],
    maximum_length: 64,
  } as const;
  return { unit, schema: { ...schema, ...parts } };
}

const radio = numeric("Hz", { minimum: 470e6, maximum: 694e6, multiple_of: 25_000 });
const lowCut = numeric("Hz", { minimum: 0, maximum: 160, multiple_of: 10 });
const trim = numeric("dB", { type: "number", minimum: -20, maximum: 20, multiple_of: 0.5 });

test("radio frequencies are shown and typed in megahertz", () => {
  expect(displayUnit(radio).unit).toBe("MHz");
  expect(shownNumber(518_025_000, radio)).toBe("518.025");
  expect(typedNumber("518.1", radio)).toBe(518_100_000);
  expect(typedNumber("518,025", radio)).toBe(518_025_000);
});

test("other numbers keep the device's unit and the decimals of its step", () => {
  expect(displayUnit(lowCut).unit).toBe("Hz");
  expect(shownNumber(-1.5, trim)).toBe("\u22121.5");
  expect(typedNumber("\u22121.5", trim)).toBe(-1.5);
});

test("what is no number is none", () => {
  for (const text of ["", "abc", "1e5", "12 dB", "--3", "Infinity"]) expect(typedNumber(text, trim)).toBeNaN();
});

test("bandwidths and sample rates are shown and typed in kilohertz", () => {
  const rate = numeric("Hz", { enum: [44_100, 48_000, 96_000] });
  expect(displayUnit(rate)).toEqual({ unit: "kHz", factor: 1000 });
  expect(shownNumber(44_100, rate)).toBe("44.1");
  expect(shownNumber(96_000, rate)).toBe("96");
  expect(typedNumber("44,1", rate)).toBe(44_100);
});
