import type { Job, Plan, PlanFacts, PlanProduct, PlanVerdict, ProductField } from "../src/protocol/model";
import { madeProducts } from "../src/pure/made_products";
import { ANALOG_PROFILE, DIGITAL_PROFILE } from "../src/pure/plan_request";
import type { Answer } from "./pretend";

/** Plans of an invented evening, for pictures of the screen and to measure how quickly it draws. Nothing here is found. */

const RASTER_HZ = 25_000;
const NOW_US = Date.now() * 1000;
const QUIET_AGES_MIN = [4, 38, null];

interface Sketch {
  readonly title: string;
  readonly zones: readonly string[];
  readonly perZone: number;
  readonly startHz: number;
  readonly stopHz: number;
}

const EVENING: Sketch = {
  title: "Evening at Tern Rock",
  zones: ["House", "Quay", "Camera"],
  perZone: 8,
  startHz: 470e6,
  stopHz: 494e6,
};
const FESTIVAL: Sketch = {
  title: "A thousand carriers",
  zones: Array.from({ length: 20 }, (_, index) => `Stage ${index + 1}`),
  perZone: 50,
  startHz: 470e6,
  stopHz: 694e6,
};

/** Where the carriers of a zone stand: uneven, so that products spread, and the same each time. */
function placesOf({ perZone, startHz, stopHz }: Sketch, zone: number): number[] {
  const wide = (stopHz - startHz) / RASTER_HZ;
  return Array.from({ length: perZone }, (_, index) => {
    const place = ((index + 0.5) / perZone) * wide + 9 * Math.sin((index + 1) * 2.3 + zone) + zone * 3;
    return startHz + Math.round(Math.min(Math.max(place, 0), wide)) * RASTER_HZ;
  });
}

function planOf(sketch: Sketch): Plan {
  const { title, zones, perZone, startHz, stopHz } = sketch;
  const carriers = zones.flatMap((zone, index) =>
    placesOf(sketch, index).map((frequency_hz, number) => ({
      group: zone,
      zone,
      frequency_hz,
      locked: number === 2,
      channel: null,
    })),
  );
  const missing = zones.length < 5 ? 1 : 0;
  return {
    title,
    request: {
      raster_hz: RASTER_HZ,
      window: [{ start_hz: startHz, stop_hz: stopHz }],
      exclusion: [{ start_hz: startHz + 8e6, stop_hz: startHz + 9.5e6, words: "camera crew" }],
      profile: [ANALOG_PROFILE, DIGITAL_PROFILE],
      group: zones.map((zone, index) => ({
        name: zone,
        zone,
        profile: index === 1 ? "analog" : "digital",
        count: perZone + (index === 0 ? missing : 0),
        spares: 1,
      })),
    },
    carriers,
    spares: zones.slice(0, 3).map((zone, index) => ({
      group: zone,
      zone,
      frequency_hz: startHz + (11 + index * 4) * 1e6 + 775_000,
      rank: index + 1,
      quiet_at_utc_us: QUIET_AGES_MIN[index] == null ? null : NOW_US - (QUIET_AGES_MIN[index] ?? 0) * 60e6,
      quiet_dbm: index === 0 ? -108 : null,
    })),
    complete: missing === 0,
    worst_margin_hz: 25_000,
    seed: 1,
    steps: 48_210,
    seconds: 20,
    relaxations: [
      { words: "let the exclusion camera crew go", carriers: 25, gain: 1 },
      { words: "ask for 300 kHz instead of 400 between analog carriers", carriers: 25, gain: 1 },
    ],
    bands: [{ words: "470 to 694 MHz", source: "as invented", dated: "2026", unverified: true }],
  };
}

function fieldOf(plan: Plan): ProductField {
  const start_hz = plan.carriers.length > 100 ? FESTIVAL.startHz : EVENING.startHz;
  const stop_hz = plan.carriers.length > 100 ? FESTIVAL.stopHz : EVENING.stopHz;
  const third = new Array<number>((stop_hz - start_hz) / RASTER_HZ + 1).fill(0);
  const places = [...new Set(plan.carriers.map((one) => one.frequency_hz / RASTER_HZ))];
  for (const [index, place] of places.slice(0, 40).entries()) {
    const { first, counts } = madeProducts(place, places.filter((_, other) => other > index).slice(0, 200));
    for (const [at, count] of counts.entries()) {
      const point = first + at - start_hz / RASTER_HZ;
      if (point >= 0 && point < third.length) third[point] = (third[point] ?? 0) + count;
    }
  }
  const fifth = third.map((_, at) => third.slice(Math.max(at - 6, 0), at + 7).reduce((sum, one) => sum + one, 0) * 3);
  return { start_hz, step_hz: RASTER_HZ, third, fifth, fifth_of_five: 0 };
}

function productsOf(plan: Plan, frequencyHz: number): readonly PlanProduct[] {
  const makers = plan.carriers.map((one) => one.frequency_hz);
  return [-225_000, 250_000, 300_000].map((distance_hz, index) => ({
    family: index === 1 ? "A+B-C" : "2A-B",
    makers_hz: makers.slice(index + 1, index + (index === 1 ? 4 : 3)),
    frequency_hz: frequencyHz + distance_hz,
    distance_hz,
    level_dbm: index === 0 ? -71 : null,
  }));
}

const PLANS: Readonly<Record<string, Plan>> = { evening: planOf(EVENING), festival: planOf(FESTIVAL) };
const VERDICT: PlanVerdict = { faults: [], worst_margin_hz: 25_000, worst_ratio_db: null, missing: [] };

function facts(name: string, plan: Plan): PlanFacts {
  const asked = plan.carriers.length + (plan.complete ? 0 : 1);
  const { title, complete, worst_margin_hz } = plan;
  return {
    name,
    title,
    revision: 4,
    by: "engineer",
    at_utc_us: NOW_US,
    carriers: plan.carriers.length,
    asked,
    complete,
    worst_margin_hz,
  };
}

const NO_JOBS: readonly Job[] = [];

export const answerPlans: Answer = (path, method) => {
  const [where, asked] = path.split("?");
  if (where === "jobs") return { items: NO_JOBS };
  if (where === "plans") return { items: Object.entries(PLANS).map(([name, plan]) => facts(name, plan)) };
  const [, name, what] = /^plans\/([^/]+)\/?(.*)$/.exec(where ?? "") ?? [];
  const plan = PLANS[name ?? ""];
  if (plan === undefined) return undefined;
  if (what === "" && method === "GET") return plan;
  if (what === "field") return fieldOf(plan);
  if (what === "check") return VERDICT;
  if (what === "products") return { items: productsOf(plan, Number(new URLSearchParams(asked).get("frequency_hz"))) };
  return undefined;
};
