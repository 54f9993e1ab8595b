import { expect, test } from "vitest";
import { ageAt } from "./age_axis";
import { backfill, type RecentRow } from "./backfill";
import { Bins } from "./bins";

const CELLS = 512;
const AT = 10_000;

function recent(reported: (age: number) => boolean, damaged: (age: number) => boolean = () => false): RecentRow {
  const ages = Array.from({ length: CELLS }, (_, cell) => ageAt((cell + 0.5) / CELLS));
  return {
    median: ages.map((age) => -50 - age / 1000),
    worst: ages.map(() => -80),
    damage: ages.map((age) => (damaged(age) ? 1 : 0)),
    speech: ages.map(() => 0.5),
    reported: ages.map((age) => (reported(age) ? 1 : 0)),
    deaf: ages.map(() => 0),
  };
}

test("each level holds the past as far as it reaches", () => {
  const bins = new Bins();
  backfill(
    bins,
    recent(() => true),
    AT,
  );
  expect(bins.median[bins.slotAt(0, AT - 10)]).toBeCloseTo(-50.01, 2);
  expect(bins.median[bins.slotAt(9, AT - 7000)]).toBeCloseTo(-57, 0);
  expect(bins.slotAt(0, AT - 100)).toBe(-1);
});

test("what was not reported stays a gap, and the ends are known", () => {
  const bins = new Bins();
  backfill(
    bins,
    recent((age) => age > 30 && age < 300),
    AT,
  );
  expect(bins.slotAt(5, AT - 10)).toBe(-1);
  expect(bins.slotAt(5, AT - 100)).not.toBe(-1);
  expect(AT - bins.lastAt).toBeCloseTo(30, -1);
  expect(AT - bins.firstAt).toBeCloseTo(300, -1);
});

test("the newest cells are bridged, so that the live feed joins without a seam", () => {
  const bins = new Bins();
  bins.add(AT, { median: -51, worst: -60, damage: 0, speech: 0, deaf: 0 });
  backfill(
    bins,
    recent((age) => age > 0.5),
    AT,
  );
  for (let age = 0.2; age < 2; age += 0.1) expect(bins.slotAt(0, AT - age)).not.toBe(-1);
});

test("what the live feed told is not overwritten", () => {
  const bins = new Bins();
  bins.add(AT - 5, { median: -77, worst: -90, damage: 1, speech: 0, deaf: 0 });
  backfill(
    bins,
    recent(() => true),
    AT,
  );
  expect(bins.median[bins.slotAt(0, AT - 5)]).toBe(-77);
  expect(bins.damage[bins.slotAt(0, AT - 5)]).toBe(1);
});

test("nothing reported leaves nothing behind", () => {
  const bins = new Bins();
  backfill(
    bins,
    recent(() => false),
    AT,
  );
  expect(bins.lastAt).toBe(Number.NEGATIVE_INFINITY);
  expect(bins.firstAt).toBe(Number.POSITIVE_INFINITY);
});
