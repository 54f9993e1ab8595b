import { describe, expect, it } from "vitest";
import { requestOf } from "../pure/plan_request";
import { emptyPlan, planToKeep, slugOf } from "./chart_draft";

const facts = (name: string) => ({
  name,
  title: name,
  revision: 1,
  by: "",
  at_utc_us: null,
  carriers: 0,
  asked: 0,
  complete: false,
  worst_margin_hz: null,
});

describe("a new plan", () => {
  it("has a name that addresses can bear, and no other plan's", () => {
    expect(slugOf("Evening at Tern Rock, Act I", [])).toBe("evening-at-tern-rock-act-i");
    expect(slugOf("Évening", [facts("e-vening"), facts("evening")])).toBe("e-vening-2");
    expect(slugOf("??", [])).toBe("plan");
  });
});

describe("a changed request", () => {
  const carrier = (group: string, zone: string, frequency_hz: number) => ({
    group,
    zone,
    frequency_hz,
    locked: false,
    channel: null,
  });
  const plan = {
    ...emptyPlan("evening"),
    carriers: [
      carrier("House", "House", 470_025_000),
      carrier("House", "House", 471e6),
      carrier("House", "House", 472e6),
      carrier("Quay", "Quay", 473e6),
      carrier("Camera", "Quay", 474e6),
    ],
  };

  it("keeps the carriers that it still has a place for, and no more than it asks for", () => {
    const request = requestOf({
      raster_hz: 50_000,
      window: [],
      group: [
        { name: "House", zone: "House", profile: "digital", count: 1 },
        { name: "Camera", zone: "Camera", profile: "digital", count: 2 },
      ],
    });
    const keptOf = (of: typeof plan) => planToKeep(of, request).carriers.map((one) => one.frequency_hz);
    expect(keptOf(plan)).toEqual([471e6]);
    const held = plan.carriers.map((one) => ({ ...one, locked: one.frequency_hz === 472e6 }));
    expect(keptOf({ ...plan, carriers: held })).toEqual([472e6]);
  });
});
