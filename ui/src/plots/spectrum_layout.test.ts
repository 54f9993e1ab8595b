import { describe, expect, it } from "vitest";
import { bandAt, layOut, levelRange } from "./spectrum_layout";

const all = { own: true, often: true, change: true, room: true, coarse: false };
const BANDS = ["blocks", "own", "levels", "often", "change", "room", "axis", "whole"] as const;

describe("the layers of a spectrum", () => {
  it.each([
    [1920, 560],
    [1366, 300],
    [390, 430],
  ])("fill a picture of %i by %i without a gap, each below the one before", (width, height) => {
    const layout = layOut({ width, height, ...all });
    let top = 0;
    for (const name of BANDS) {
      expect(layout[name].top).toBe(top);
      top += layout[name].height;
    }
    expect(top).toBe(height);
    expect(layout.levels.height).toBeGreaterThanOrEqual(60);
    expect(layout.left + layout.across).toBeLessThanOrEqual(width);
  });

  it("have no height where they aren't shown", () => {
    const layout = layOut({
      width: 1000,
      height: 500,
      own: false,
      often: false,
      change: false,
      room: false,
      coarse: false,
    });
    expect([layout.own.height, layout.often.height, layout.change.height, layout.room.height]).toEqual([0, 0, 0, 0]);
  });

  it("can be hit by a finger where something is painted or looked for", () => {
    const layout = layOut({ width: 390, height: 430, ...all, coarse: true });
    expect(layout.room.height).toBeGreaterThanOrEqual(44);
    expect(layout.whole.height).toBeGreaterThanOrEqual(44);
    expect(bandAt(layout, layout.room.top + 1)).toBe("room");
    expect(bandAt(layout, layout.whole.top + 1)).toBe("whole");
    expect(bandAt(layout, layout.levels.top)).toBe("picture");
  });
});

describe("the levels", () => {
  it("rise from the floor to above the strongest of all scans that are drawn", () => {
    expect(levelRange([[-104, null, -31.5], [-60]], [-105, -103])).toEqual({ least: -107, most: -20 });
    expect(levelRange([[Number.NaN]], [])).toEqual({ least: -120, most: -50 });
  });
});
