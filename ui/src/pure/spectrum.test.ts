import { describe, expect, it } from "vitest";
import { columnLevels, levelAt, type Span, spanOf } from "./spectrum";

const low = { start_hz: 470_000_000, step_hz: 100_000, levels_dbm: [-100, -60, null, -98] };
const high = { start_hz: 470_400_000, step_hz: 100_000, levels_dbm: [-97, -99] };

describe("a scan", () => {
  it("spans all that it measured", () => {
    expect(spanOf([])).toBeNull();
    expect(spanOf([high, low])).toEqual({ fromHz: 469_950_000, toHz: 470_550_000 });
  });

  it("keeps the greatest level of each column, and leaves blank what wasn't measured", () => {
    const span = { fromHz: 469_950_000, toHz: 470_550_000 };
    expect([...columnLevels([low, high], span, 6)]).toEqual([-100, -60, Number.NaN, -98, -97, -99]);
    expect([...columnLevels([low, high], span, 3)]).toEqual([-60, -98, -97]);
  });

  it("holds a level for the whole of its step where few points are in view", () => {
    const close = { fromHz: 470_050_000, toHz: 470_150_000 };
    expect([...columnLevels([low], close, 4)]).toEqual([-60, -60, -60, -60]);
  });

  it("loses no peak of twenty thousand points, wherever it lies and whatever is in view", () => {
    const points = 20_000;
    for (const [at, columns] of [
      [0, 390],
      [1, 1920],
      [9_999, 1366],
      [12_345, 1],
      [19_999, 1920],
    ] as const) {
      const levels = new Float32Array(points).fill(-105);
      levels[at] = -31;
      const stretch = { start_hz: 470e6, step_hz: 12_500, levels_dbm: levels };
      const whole = spanOf([stretch]) as Span;
      expect(Math.max(...columnLevels([stretch], whole, columns))).toBe(-31);
      const odd = { fromHz: whole.fromHz - 777, toHz: whole.toHz + 3_333 };
      expect(Math.max(...columnLevels([stretch], odd, columns))).toBe(-31);
    }
  });

  it("tells the level at a frequency, and nothing where it didn't listen", () => {
    expect(levelAt(low, 470_120_000)).toBe(-60);
    expect(levelAt(low, 470_200_000)).toBeNull();
    expect(levelAt(low, 480_000_000)).toBeNull();
  });
});
