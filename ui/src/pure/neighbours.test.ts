import { describe, expect, it } from "vitest";
import { besideCarriers, guardAgainst, productNeighbours } from "./neighbours";
import { ANALOG_PROFILE, DIGITAL_PROFILE } from "./plan_request";

const near = (family: string, distance_hz: number) => ({
  family,
  makers_hz: [518e6, 517e6, 516e6],
  frequency_hz: 519e6,
  distance_hz,
  level_dbm: null,
});

describe("the neighbours of a carrier", () => {
  it("are listed with what is left of each family's guard, the worst first, unguarded ones last", () => {
    const products = [near("2A+B-2C", 0), near("A+B-C", 200_000), near("2A-B", -150_000), near("3A-2B", 125_000)];
    const found = productNeighbours(products, ANALOG_PROFILE, (hertz) => `${hertz / 1e6}`);
    expect(found.map((one) => one.marginHz)).toEqual([-50_000, 25_000, 50_000, null]);
    expect(found[0]).toMatchObject({ sum: "2 × 518 − 517", distanceHz: 150_000 });
    expect(found[1]?.makers.map((one) => one.factor)).toEqual([3, -2, 1]);
  });

  it("have no margin where nothing is guarded", () => {
    expect(guardAgainst(DIGITAL_PROFILE, "2A-B")).toBe(0);
    expect(guardAgainst(undefined, "A+B-C")).toBe(0);
  });

  it("are the next carriers below and above too, by the wider spacing of both", () => {
    const others = [
      { frequencyHz: 470e6, spacingHz: 400_000 },
      { frequencyHz: 470_400_000, spacingHz: 600_000 },
      { frequencyHz: 472e6, spacingHz: 400_000 },
    ];
    const found = besideCarriers(471e6, others, 400_000);
    expect(found.map((one) => [one.frequencyHz, one.marginHz])).toEqual([
      [470_400_000, 0],
      [472e6, 600_000],
    ]);
    expect(besideCarriers(471e6, [], 400_000)).toEqual([]);
  });
});
