import { expect, test } from "vitest";
import { HeldPeak } from "./peak";

test("a peak rises at once, is held for a second, then falls", () => {
  const peak = new HeldPeak();
  peak.take(0, -40);
  peak.take(0.1, -6);
  expect(peak.shownAt(0.1)).toBe(-6);
  peak.take(0.5, -50);
  expect(peak.shownAt(1.1)).toBe(-6);
  expect(peak.shownAt(1.6)).toBeCloseTo(-6 - 0.5 * 24, 6);
});

test("it falls no lower than what is heard", () => {
  const peak = new HeldPeak();
  peak.take(0, -6);
  peak.take(3, -20);
  expect(peak.shownAt(3)).toBe(-20);
});

test("an absent peak shows nothing", () => {
  const peak = new HeldPeak();
  peak.take(0, -6);
  peak.take(0.1, Number.NaN);
  expect(peak.shownAt(0.1)).toBeNaN();
});
