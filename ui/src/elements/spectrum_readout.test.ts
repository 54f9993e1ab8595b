import { describe, expect, it } from "vitest";
import { readoutAt } from "./spectrum_readout";

const line = (levels: (number | null)[]) => ({ start_hz: 606e6, step_hz: 25_000, levels_dbm: levels });
const traces = {
  maximum: line([-60, -100, null]),
  median: line([-62, -104, null]),
  occupancy: line([0.4, 0, null]),
  against: line([-99, -99, -99]),
  rise: null,
  fall: null,
  old: false,
};
const marks = {
  blocks: [{ name: "38", words: "", fromHz: 606e6, toHz: 614e6 }],
  own: [{ hertz: 606_090_000, numbers: [3], label: "3", heard: false }],
  windows: [{ fromHz: 470e6, toHz: 694e6 }],
  keptOut: [{ fromHz: 606_020_000, toHz: 607e6, words: "next door" }],
};

describe("what is read at a frequency", () => {
  it("is all that is known there", () => {
    expect(readoutAt(606e6, traces, marks)).toBe(
      "606.000 MHz · block 38 · −60 dBm at the most · −62 half of the time · above the mark 40 % of the time · −99 before · own carrier 3",
    );
    expect(readoutAt(606_050_000, { ...traces, against: null }, marks)).toBe(
      "606.050 MHz · block 38 · not measured here · kept out: next door · own carrier 3",
    );
  });

  it("says whose a block is that no broadcaster has", () => {
    const astronomy = { ...marks, blocks: [{ name: "37", words: "radio astronomy", fromHz: 608e6, toHz: 614e6 }] };
    expect(readoutAt(610e6, traces, astronomy)).toContain("block 37 (radio astronomy)");
  });

  it("says so where nothing was measured", () => {
    expect(readoutAt(700e6, traces, marks)).toBe("700.000 MHz · not measured here · outside the plan's windows");
  });
});
