import { describe, expect, it } from "vitest";
import { hertzOf, ontoRaster, together, typedStretch, without } from "./stretches";

const span = (fromHz: number, toHz: number) => ({ fromHz, toHz });

describe("stretches of spectrum", () => {
  it("join where they overlap or touch, and are sorted", () => {
    expect(together([span(8, 9), span(1, 3), span(2, 4), span(4, 5), span(7, 7)])).toEqual([span(1, 5), span(8, 9)]);
  });

  it("leave what isn't taken", () => {
    expect(without([span(0, 10)], [span(2, 3), span(9, 20), span(-4, 1)])).toEqual([span(1, 2), span(3, 9)]);
    expect(without([span(0, 10)], [span(0, 10)])).toEqual([]);
    expect(without([span(0, 4), span(6, 9)], [span(3, 7)])).toEqual([span(0, 3), span(7, 9)]);
    expect(without([span(0, 4)], [])).toEqual([span(0, 4)]);
  });

  it("count what overlaps once", () => {
    expect(hertzOf([span(0, 4), span(2, 6)])).toBe(6);
  });

  it("widen to the raster, whichever end was given first", () => {
    expect(ontoRaster(606_110_000, 606_010_000, 25_000)).toEqual(span(606_000_000, 606_125_000));
    expect(ontoRaster(606_000_000, 606_000_000, 25_000)).toEqual(span(606_000_000, 606_025_000));
  });

  it.each(["606-614", "606 – 614 MHz", " 606 614 ", "606.000 to 614,0", "606 MHz - 614 MHz"])("read %j", (text) => {
    expect(typedStretch(text)).toEqual(span(606e6, 614e6));
  });

  it.each(["", "606", "614-606", "606-606", "block 38", "606-614-620", "1e3-2e3"])("don't read %j", (text) => {
    expect(typedStretch(text)).toBeNull();
  });
});
