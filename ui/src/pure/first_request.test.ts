import { describe, expect, it } from "vitest";
import { firstRequest } from "./first_request";

const parts = (zone: string, count: number, spare = false) => new Array(count).fill({ zone, spare });
const within = { fromHz: 470_010_000, toHz: 494_010_000 };

describe("the first request of a plan", () => {
  it("asks for a carrier for every part, zone by zone, and for spares", () => {
    const positions = [...parts("House", 32), ...parts("House", 2, true), ...parts("", 3)];
    const request = firstRequest(positions, within, "Stage");
    expect(request.group.map(({ name, zone, count, spares }) => [name, zone, count, spares])).toEqual([
      ["House", "House", 32, 4],
      ["Stage", "Stage", 3, 2],
    ]);
  });

  it("stays within what was scanned, on the raster", () => {
    expect(firstRequest([], within, "Stage").window).toEqual([{ start_hz: 470_025_000, stop_hz: 494_000_000 }]);
  });

  it("asks for one carrier where no production says more, for nothing can't be asked", () => {
    expect(firstRequest([], within, "Stage").group).toMatchObject([{ name: "Stage", count: 1 }]);
  });
});
