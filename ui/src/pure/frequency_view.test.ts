import { describe, expect, it } from "vitest";
import { around, hertzAt, LEAST_VIEW_HZ, moved, shareOf, ticksOf, zoomed } from "./frequency_view";

const whole = { fromHz: 470e6, toHz: 694e6 };

describe("a view of frequencies", () => {
  it("keeps what is under the pointer where it is while it zooms", () => {
    const near = zoomed(whole, whole, 0.25, 0.3);
    expect(near.toHz - near.fromHz).toBeCloseTo(56e6);
    expect(hertzAt(near, 0.3)).toBeCloseTo(hertzAt(whole, 0.3));
    expect(shareOf(near, hertzAt(near, 0.7))).toBeCloseTo(0.7);
  });

  it("never shows what lies beyond the whole", () => {
    expect(zoomed({ fromHz: 470e6, toHz: 480e6 }, whole, 100, 0.5)).toEqual(whole);
    expect(moved({ fromHz: 600e6, toHz: 650e6 }, whole, 5)).toEqual({ fromHz: 644e6, toHz: 694e6 });
    expect(moved({ fromHz: 600e6, toHz: 650e6 }, whole, -9)).toEqual({ fromHz: 470e6, toHz: 520e6 });
  });

  it("goes no nearer than its least", () => {
    const near = zoomed(whole, whole, 1e-9, 0.5);
    expect(near.toHz - near.fromHz).toBe(LEAST_VIEW_HZ);
  });

  it("looks at a stretch with room on both sides", () => {
    const view = around({ fromHz: 606e6, toHz: 614e6 }, whole);
    expect(view).toEqual({ fromHz: 598e6, toHz: 622e6 });
    expect(around({ fromHz: 470e6, toHz: 471e6 }, whole).fromHz).toBe(470e6);
  });

  it("is marked at round frequencies, never more than asked for", () => {
    expect(ticksOf(whole, 12)).toEqual({
      hertz: [480, 500, 520, 540, 560, 580, 600, 620, 640, 660, 680].map((one) => one * 1e6),
      decimals: 0,
    });
    const fine = ticksOf({ fromHz: 606_010_000, toHz: 606_210_000 }, 8);
    expect(fine.hertz[0]).toBe(606_050_000);
    expect(fine.decimals).toBe(2);
    expect(ticksOf(whole, 1).hertz.length).toBeLessThanOrEqual(1);
  });
});
