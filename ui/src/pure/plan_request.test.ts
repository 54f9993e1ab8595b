import { describe, expect, it } from "vitest";
import { askedFor, EMPTY_REQUEST, hears, requestOf, tidied, together, widestGuard, zonesOf } from "./plan_request";

const kept = {
  raster_hz: 25_000,
  window: [{ start_hz: 470e6, stop_hz: 494e6 }],
  profile: [{ name: "analog", spacing_hz: 400_000, third_two_signal_hz: 100_000 }],
  group: [
    { name: "House", zone: "House", profile: "analog", count: 16 },
    { name: "Quay", zone: "Quay", profile: "analog", count: 6, locked_hz: [480e6] },
    { name: "Ears", zone: "House", profile: "analog", count: 2 },
  ],
  aim: "margin",
};

describe("a kept request", () => {
  const request = requestOf(kept);

  it("gets the lists that it leaves out, and keeps what nobody here knows", () => {
    expect(request.exclusion).toEqual([]);
    expect(request.group[0]).toMatchObject({ spares: 0, kind: "microphone", locked_hz: [] });
    expect(request).toMatchObject({ aim: "margin" });
  });

  it("knows its zones, and how many are asked for", () => {
    expect(zonesOf(request)).toEqual(["House", "Quay"]);
    expect(askedFor(request)).toBe(24);
    expect(askedFor(EMPTY_REQUEST)).toBe(0);
  });

  it("says how far products are kept off at the most", () => {
    expect(widestGuard(request.profile[0])).toBe(100_000);
    expect(widestGuard(undefined)).toBe(0);
  });

  it("tells zones that hear nothing of one another from those that hear less", () => {
    const apart = { ...request, isolation: [{ zones: ["House", "Quay"] as const }] };
    expect(hears(apart, "Quay", "House")).toBe(false);
    expect(hears(apart, "Quay", "Quay")).toBe(true);
    const less = { ...request, isolation: [{ zones: ["House", "Quay"] as const, isolation_db: 35 }] };
    expect(hears(less, "Quay", "House")).toBe(true);
  });

  it("has everybody on air together until scenes say otherwise", () => {
    expect(together(request, "House", "Quay")).toBe(true);
    const scenes = {
      ...request,
      scene: [
        { name: "Prologue", groups: ["Quay"] },
        { name: "Act I", groups: ["House", "Ears"] },
      ],
    };
    expect(together(scenes, "House", "Quay")).toBe(false);
    expect(together(scenes, "House", "Ears")).toBe(true);
  });

  it("is sent without what says nothing", () => {
    expect(tidied(request)).toEqual({
      ...kept,
      profile: [{ ...kept.profile[0], third_three_signal_hz: 0, fifth_two_signal_hz: 0 }],
    });
  });
});
