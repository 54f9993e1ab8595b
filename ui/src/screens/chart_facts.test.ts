import { describe, expect, it } from "vitest";
import { requestOf } from "../pure/plan_request";
import { lanesOf, laneWordsOf, litProducts, spanOfPlan } from "./chart_facts";

const request = requestOf({
  raster_hz: 25_000,
  window: [{ start_hz: 470e6, stop_hz: 494e6 }],
  exclusion: [{ start_hz: 478e6, stop_hz: 486e6, words: "block 22" }],
  protected: [{ frequency_hz: 500e6, spacing_hz: 300_000, words: "next door" }],
  profile: [
    { name: "analog", spacing_hz: 400_000, third_two_signal_hz: 200_000, third_three_signal_hz: 150_000 },
    { name: "digital", spacing_hz: 500_000 },
  ],
  group: [
    { name: "House", zone: "House", profile: "digital", count: 2, locked_hz: [471e6] },
    { name: "Quay", zone: "Quay", profile: "analog", count: 2, fixed_hz: [475e6] },
  ],
  isolation: [{ zones: ["House", "Quay"] }],
});
const carrier = (group: string, frequency_hz: number) => ({
  group,
  zone: group,
  frequency_hz,
  locked: false,
  channel: null,
});
const carriers = [carrier("House", 471e6), carrier("House", 472e6), carrier("Quay", 475e6)];
const spare = { group: "Quay", zone: "Quay", frequency_hz: 477e6, rank: 1, quiet_at_utc_us: null, quiet_dbm: null };

describe("the lanes of a plan", () => {
  const facts = lanesOf(request, { carriers, spares: [spare] }, null, new Set([472e6]));

  it("show each carrier once, as what it is, and strangers in every lane that hears them", () => {
    expect(facts.zones).toEqual(["House", "Quay"]);
    const looks = facts.masts.map(({ zone, look, broken }) => `${zone} ${look}${broken ? " broken" : ""}`);
    expect(looks).toEqual([
      "House locked",
      "House found broken",
      "Quay fixed",
      "Quay spare",
      "House protected",
      "Quay protected",
    ]);
  });

  it("give each the spacing and the widest guard of its profile", () => {
    expect(facts.masts[0]).toMatchObject({ spacingHz: 500_000, guardHz: 0 });
    expect(facts.masts[2]).toMatchObject({ spacingHz: 400_000, guardHz: 200_000 });
  });

  it("name what is closed", () => {
    expect(facts.closed).toEqual([{ fromHz: 478e6, toHz: 486e6, words: "block 22" }]);
  });

  it("say how many stand of those asked for", () => {
    expect(laneWordsOf(request, carriers)).toEqual({ House: "2 of 2", Quay: "1 of 2" });
  });

  it("lie on an axis that holds everything, with room", () => {
    const { fromHz, toHz } = spanOfPlan(request, { carriers, spares: [] });
    expect(fromHz).toBeLessThan(470e6);
    expect(toHz).toBeGreaterThan(500e6);
    expect(spanOfPlan(requestOf({}), { carriers: [], spares: [] })).toEqual({ fromHz: 470e6, toHz: 694e6 });
  });
});

describe("a picked carrier", () => {
  // By hand: 2·471 − 472 = 470 and 2·472 − 471 = 473; Quay hears nothing of House, so 475 has no part in it.
  it("lights its products with those that it is heard with", () => {
    const { start_hz, step_hz, counts } = litProducts(request, carrier("House", 471e6), carriers);
    const places = [...Array.from(counts).entries()].filter(([, count]) => count > 0);
    expect(places.map(([index]) => start_hz + index * step_hz)).toEqual([470e6, 473e6]);
  });
});
