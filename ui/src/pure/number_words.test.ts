import { expect, test } from "vitest";
import { ageWords, clockWords, decimal, megahertz, minutesWords, whole } from "./number_words";

test("numbers have a true minus and no minus zero", () => {
  expect(whole(-61.4)).toBe("\u221261");
  expect(whole(-0.2)).toBe("0");
  expect(decimal(-0.04, 1)).toBe("0.0");
  expect(decimal(-1.5, 1)).toBe("\u22121.5");
});

test("ages grow coarser", () => {
  expect([0.4, 31.9, 60, 3599, 3600, 7500].map(ageWords)).toEqual([
    "0 s",
    "31 s",
    "1 min",
    "59 min",
    "1 h 00",
    "2 h 05",
  ]);
});

test("time left is never less than nothing", () => {
  expect([-3, 45.9, 185].map(minutesWords)).toEqual(["0 min", "45 min", "3 h 05"]);
});

test("a radio frequency keeps every digit that tells", () => {
  expect(megahertz(518_025_000)).toBe("518.025");
  expect(megahertz(518_000_000)).toBe("518.000");
  expect(megahertz(518_012_500)).toBe("518.0125");
});

test("a clock time has seconds", () => {
  const moment = new Date(2026, 0, 5, 9, 4, 7).getTime() * 1000;
  expect(clockWords(moment)).toBe("09:04:07");
});
