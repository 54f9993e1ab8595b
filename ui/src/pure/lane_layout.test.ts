import { describe, expect, it } from "vitest";
import { laneLayout } from "./lane_layout";

describe("the lanes of a plan", () => {
  it.each([
    [800, 3],
    [520, 3],
    [420, 1],
    [865, 16],
  ])("fill %i pixels with %i lanes, one under the other without a gap", (height, lanes) => {
    const layout = laneLayout(height, lanes);
    expect(layout.height).toBe(height);
    const parts = [layout.names, ...layout.lanes, layout.axis, layout.third, layout.fifth];
    let top = 0;
    for (const part of parts) {
      expect(part.top).toBe(top);
      top += part.height;
    }
    expect(top).toBe(height);
  });

  it("stay high enough for a finger's eye where there are many, and scroll instead", () => {
    const layout = laneLayout(400, 20);
    expect(layout.lanes[0]?.height).toBe(26);
    expect(layout.height).toBeGreaterThan(400);
    expect(layout.third.height).toBeGreaterThan(layout.fifth.height);
  });
});
