import { html } from "lit";
import type { FoundFacts } from "../src/elements/plan_found";
import type { PlanHeadFacts } from "../src/elements/plan_head";
import type { LanesFacts, Mast, MastLook } from "../src/plots/lanes";
import { productNeighbours } from "../src/pure/neighbours";
import { megahertz } from "../src/pure/number_words";
import { ANALOG_PROFILE, EMPTY_REQUEST } from "../src/pure/plan_request";
import type { Section } from "./sections";
import "../src/elements/lanes";
import "../src/elements/neighbours";
import "../src/elements/plan_ask";
import "../src/elements/plan_found";
import "../src/elements/plan_head";

const mast = (zone: string, frequencyHz: number, look: MastLook = "found", broken = false): Mast => ({
  zone,
  frequencyHz,
  look,
  spacingHz: 400_000,
  guardHz: look === "protected" ? 0 : 200_000,
  broken,
});

const masts: readonly Mast[] = [
  mast("House", 471.05e6),
  mast("House", 474.2e6, "locked"),
  mast("House", 479.9e6, "fixed"),
  mast("House", 483.3e6, "found", true),
  mast("House", 489.4e6, "spare"),
  mast("House", 491.5e6, "protected"),
  mast("Quay", 472.6e6),
  mast("Quay", 487.1e6),
];
const third = Float64Array.from({ length: 961 }, (_, at) =>
  Math.max(Math.round(9 * Math.sin(at / 61) ** 2 + 4 * Math.sin(at / 7) - 3), 0),
);
const lanes: LanesFacts = {
  zones: ["House", "Quay"],
  masts,
  windows: [{ fromHz: 470e6, toHz: 494e6 }],
  closed: [{ fromHz: 476e6, toHz: 478e6, words: "block" }],
  field: { start_hz: 470e6, step_hz: 25_000, third, fifth: third.map((count) => count * 4) },
};
const span = { fromHz: 469e6, toHz: 495e6 };
const words = { House: "5 of 5", Quay: "2 of 3" };
const LANES_HIGH = "height: 420px";

const near = (family: string, distance_hz: number) => ({
  family,
  makers_hz: [474.2e6, 479.9e6, 483.3e6],
  frequency_hz: 471e6,
  distance_hz,
  level_dbm: null,
});
const neighbours = {
  frequencyHz: 471.05e6,
  where: "House",
  makes: 57,
  products: productNeighbours([near("2A-B", 150_000), near("A+B-C", 175_000)], ANALOG_PROFILE, megahertz),
  carriers: [],
  looked: 1,
  locked: false,
  canLock: true,
};

const head: PlanHeadFacts = {
  plans: [{ name: "evening", title: "Evening" }],
  name: "evening",
  title: "Evening",
  stands: "All 24 stand · 25 kHz to spare at the worst · 3 spares",
  search: null,
  mayWrite: true,
  cant: "",
};

const line = (index: number, frequencyHz: number, says = "", held = "") => ({
  index,
  frequencyHz,
  words: says,
  held,
  broken: false,
});
const found: FoundFacts = {
  groups: [
    {
      name: "House",
      words: "analog, 3 of 4",
      lines: [line(0, 471.05e6), line(1, 474.2e6, "", "locked"), line(2, 479.9e6)],
    },
  ],
  spares: [line(4, 489.4e6, "House, −108 dBm, 4 min ago"), line(5, 490.1e6, "House, never listened to")],
  faults: [{ rule: "spacing", frequency_hz: 483_300_000, short_hz: 50_000, short_db: 0 }],
  cant: { stand: 3, asked: 4 },
  relaxations: [{ words: "let the exclusion block go", carriers: 4, gain: 1 }],
  bands: [{ words: "470 to 694 MHz", source: "as invented", dated: "2026", unverified: true }],
  again: "seed 1, 48210 steps",
};

const group = { name: "House", zone: "House", profile: "analog", count: 15, spares: 2, tuning: "" };
const request = {
  ...EMPTY_REQUEST,
  window: [{ start_hz: 470e6, stop_hz: 494e6 }],
  exclusion: [{ start_hz: 476e6, stop_hz: 478e6, words: "block" }],
  profile: [ANALOG_PROFILE],
  group: [{ ...group, kind: "microphone" as const, fixed_hz: [], locked_hz: [] }],
};

export const CHART_SECTIONS: readonly Section[] = [
  {
    name: "redpoll-lanes",
    states: [
      [
        "found, locked, stood before, broken, spare, somebody else's",
        html`<redpoll-lanes .style=${LANES_HIGH} .facts=${lanes} .span=${span} .laneWords=${words} description="an invented plan"></redpoll-lanes>`,
      ],
      [
        "one picked, the makers of a product beside it",
        html`<redpoll-lanes .style=${LANES_HIGH} .facts=${lanes} .span=${span} .laneWords=${words} picked="0" .productHz=${471.2e6}
          .makers=${[
            { frequencyHz: 474.2e6, factor: 2 },
            { frequencyHz: 479.9e6, factor: -1 },
          ]} description="an invented plan"></redpoll-lanes>`,
      ],
    ],
  },
  {
    name: "redpoll-plan-head",
    states: [
      ["found", html`<redpoll-plan-head .facts=${head}></redpoll-plan-head>`],
      [
        "searching",
        html`<redpoll-plan-head .facts=${{ ...head, search: { progress: 0.4, words: "searching · 21 of 24 stand after 8 s" } }}></redpoll-plan-head>`,
      ],
      ["for a viewer", html`<redpoll-plan-head .facts=${{ ...head, mayWrite: false }}></redpoll-plan-head>`],
      ["no plan", html`<redpoll-plan-head .facts=${{ ...head, plans: [], name: "", stands: "" }}></redpoll-plan-head>`],
    ],
  },
  {
    name: "redpoll-neighbours",
    states: [
      ["a product too near, one looked at", html`<redpoll-neighbours .facts=${neighbours}></redpoll-neighbours>`],
      [
        "being read",
        html`<redpoll-neighbours .facts=${{ ...neighbours, products: null, canLock: false }}></redpoll-neighbours>`,
      ],
      ["nothing picked", html`<redpoll-neighbours></redpoll-neighbours>`],
    ],
  },
  {
    name: "redpoll-plan-found",
    states: [
      [
        "not everybody fits, a rule is broken",
        html`<redpoll-plan-found .facts=${found} picked="0"></redpoll-plan-found>`,
      ],
    ],
  },
  {
    name: "redpoll-plan-ask",
    states: [
      ["changed", html`<redpoll-plan-ask .request=${request} changed></redpoll-plan-ask>`],
      ["can't be changed", html`<redpoll-plan-ask .request=${request} locked></redpoll-plan-ask>`],
    ],
  },
];
