import { expect, test } from "vitest";
import { BINS_PER_LEVEL, Bins, BRIDGED_S, binSeconds, LEVELS, type Sample } from "./bins";

function sample(parts: Partial<Sample> = {}): Sample {
  return { median: -60, worst: -70, damage: 0, speech: 0, deaf: 0, ...parts };
}

test("the coarsest level reaches back two hours", () => {
  expect(binSeconds(LEVELS - 1) * BINS_PER_LEVEL).toBeGreaterThan(7200);
});

test("a report is found at every level", () => {
  const bins = new Bins();
  bins.add(100, sample());
  for (let level = 0; level < LEVELS; level += 1) {
    const slot = bins.slotAt(level, 100);
    expect(slot).not.toBe(-1);
    expect(bins.median[slot]).toBe(-60);
  }
});

test("merging keeps the truth: damage the most, worst the least, speech the mean", () => {
  const bins = new Bins();
  const level = 3;
  const parts = [
    sample({ damage: 0.1, worst: -70, speech: 1 }),
    sample({ damage: 0.9, worst: -95 }),
    sample({ damage: 0 }),
  ];
  for (const [index, part] of parts.entries()) bins.add(16 + index * 0.1, part);
  const slot = bins.slotAt(level, 16.1);
  expect(bins.damage[slot]).toBeCloseTo(0.9, 6);
  expect(bins.worst[slot]).toBe(-95);
  expect(bins.speech[slot]).toBeGreaterThan(0);
  expect(bins.speech[slot]).toBeLessThan(1);
});

test("a short pause is bridged, a long one is a gap", () => {
  const bins = new Bins();
  bins.add(10, sample());
  bins.add(10 + BRIDGED_S - 0.5, sample());
  expect(bins.slotAt(0, 10.75)).not.toBe(-1);
  bins.add(20, sample());
  expect(bins.slotAt(0, 15)).toBe(-1);
});

test("an old bin's slot is taken over by a new one, never mixed with it", () => {
  const bins = new Bins();
  bins.add(1, sample({ damage: 1 }));
  bins.add(1 + binSeconds(0) * BINS_PER_LEVEL, sample({ damage: 0 }));
  const slot = bins.slotAt(0, 1 + binSeconds(0) * BINS_PER_LEVEL);
  expect(bins.damage[slot]).toBe(0);
  expect(bins.slotAt(0, 1)).toBe(-1);
});

test("a report from before the last one changes nothing", () => {
  const bins = new Bins();
  bins.add(10, sample({ median: -50 }));
  bins.add(9.95, sample({ median: -99 }));
  expect(bins.median[bins.slotAt(5, 10)]).toBe(-50);
});

test("an absent level leaves what the bin has", () => {
  const bins = new Bins();
  bins.put(4, 32, sample({ median: Number.NaN, worst: Number.NaN }), 1);
  bins.put(4, 32.5, sample({ median: -55, worst: -58 }), 1);
  bins.put(4, 32.7, sample({ median: Number.NaN, worst: Number.NaN }), 1);
  expect(bins.median[bins.slotAt(4, 32)]).toBe(-55);
  expect(bins.worst[bins.slotAt(4, 32)]).toBe(-58);
});
