import { describe, expect, it } from "vitest";
import { columnLevels, spanOf } from "./spectrum";

const low = { start_hz: 470_000_000, step_hz: 100_000, levels_dbm: [-100, -60, null, -98] };
const high = { start_hz: 470_400_000, step_hz: 100_000, levels_dbm: [-97, -99] };

describe("a scan", () => {
  it("spans all that it measured", () => {
    expect(spanOf([])).toBeNull();
    expect(spanOf([high, low])).toEqual({ fromHz: 470_000_000, toHz: 470_500_000 });
  });

  it("keeps the greatest level of each column, and leaves blank what wasn't measured", () => {
    const span = { fromHz: 470_000_000, toHz: 470_500_000 };
    expect([...columnLevels([low, high], span, 5)]).toEqual([-100, -60, Number.NaN, -98, -97]);
    expect([...columnLevels([low], span, 2)]).toEqual([-60, -98]);
  });
});
