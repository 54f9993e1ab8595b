import type { Ahead, Practice, Production, RunningOrder } from "../src/protocol/model";

/** Common practice, as the console assumes it where a production says nothing else. */
export const practice: Practice = { swap_margin_min: 45, wake_lead_min: 10, asleep_drain_fraction: 0.2 };

const noOrder: RunningOrder = { acts: [], cues: [], sleeps: [], swaps: [] };

/** What a production says beyond its rows, on a day without a running order. */
export const plainDay: Pick<Production, "racks" | "networks" | "antenna_paths" | "order" | "practice"> = {
  racks: [],
  networks: [],
  antenna_paths: [],
  order: noOrder,
  practice,
};

/** Nothing ahead: no running order, and no pack that says how long it lasts. */
export const plainAhead: Ahead = {
  show: { revision: 0, phase: "before", zero: null, started: null, previous: null },
  late_s: null,
  on_air: [],
  cues: [],
  rests: [],
  runways: [],
};
