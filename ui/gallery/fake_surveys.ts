import type { Plan, PlanFacts, Region, Scan, ScanComparison, ScanFacts, ScanFound } from "../src/protocol/model";
import { EMPTY_REQUEST } from "../src/pure/plan_request";
import type { Answer } from "./pretend";
import { BLOCKS, FLOOR_DBM, linesOf, type Signal, START_HZ, STEP_HZ, signals } from "./survey";

/** Surveys of an invented room, for pictures of the screen. Nothing here is measured. */

const NOW_US = Date.now() * 1000;
const MINUTE_US = 60e6;
const NARROW_HZ = 1_000_000;

function facts(scanId: string, place: string, minutes: number, rest: Partial<ScanFacts>): ScanFacts {
  return {
    scan_id: scanId,
    place,
    taken_at_utc_us: NOW_US - minutes * MINUTE_US,
    instrument: "house-1/carrier/1",
    source: "act",
    file: "",
    simulated: true,
    calibrated: true,
    bandwidth_hz: STEP_HZ,
    sweeps: 12,
    words: "",
    start_hz: START_HZ,
    step_hz: STEP_HZ,
    points: 17_920,
    by: "engineer",
    at_utc_us: NOW_US,
    ...rest,
  };
}

const SCANS: readonly ScanFacts[] = [
  facts("house-left-2", "House left", 12, {}),
  facts("house-left-1", "House left", 415, {}),
  facts("quay", "Quay north, mast", 2900, {
    instrument: "borrowed scanner",
    source: "file",
    file: "quay.csv",
    sweeps: 1,
    simulated: false,
    calibrated: null,
  }),
];

function levels(line: { readonly levels_dbm: ArrayLike<number | null> }): number[] {
  return Array.from(line.levels_dbm, (level) => Math.round((level ?? 0) * 10) / 10);
}

function scan(one: ScanFacts): Scan {
  const [maximum, median, occupancy] = linesOf(one.scan_id === "house-left-2");
  const { points: _points, by: _by, at_utc_us: _at, ...rest } = one;
  return {
    ...rest,
    maximum_dbm: levels(maximum),
    median_dbm: levels(median),
    occupancy: Array.from(occupancy.levels_dbm),
  };
}

const wide = ({ fromHz, toHz }: Signal) => toHz - fromHz > NARROW_HZ;

function found(one: ScanFacts): ScanFound {
  const all = signals(one.scan_id === "house-left-2");
  const blocks = BLOCKS.map(({ name, fromHz, toHz }) => {
    const taken = all.some((signal) => wide(signal) && signal.fromHz >= fromHz && signal.toHz <= toHz);
    const share = taken ? 0.95 : 0.02;
    return {
      name,
      start_hz: fromHz,
      stop_hz: toHz,
      television: true,
      occupied: taken,
      share,
      level_dbm: -60,
      words: "",
    };
  });
  const lone = all.filter((signal) => !wide(signal)).sort((one, other) => one.fromHz - other.fromHz);
  return {
    scan_id: one.scan_id,
    region: "region-1",
    threshold_db: 10,
    looks: 3,
    floor: [
      { frequency_hz: START_HZ, floor_dbm: FLOOR_DBM + 1 },
      { frequency_hz: START_HZ + 224e6, floor_dbm: FLOOR_DBM - 1 },
    ],
    carriers: lone.map((signal) => ({
      peak_hz: (signal.fromHz + signal.toHz) / 2,
      peak_dbm: signal.dbm,
      above_floor_db: signal.dbm - FLOOR_DBM,
      centre_hz: (signal.fromHz + signal.toHz) / 2,
      start_hz: signal.fromHz,
      stop_hz: signal.toHz,
      occupancy: signal.share,
      wide: false,
      block: "",
    })),
    blocks,
    exclusions: [
      ...blocks.filter((block) => block.occupied).map((block) => ({ ...block, words: `block ${block.name}` })),
      ...lone.map((signal) => ({ start_hz: signal.fromHz - 50_000, stop_hz: signal.toHz + 50_000, words: one.place })),
    ],
    words: [],
  };
}

function comparison(one: Scan, other: Scan): ScanComparison {
  const difference = one.maximum_dbm.map((level, index) => (level ?? 0) - (other.maximum_dbm[index] ?? 0));
  const [now, before] = [signals(true), signals(false)];
  const gone = before.filter((signal) => !now.some((same) => same.fromHz === signal.fromHz));
  const come = now.filter((signal) => !before.some((same) => same.fromHz === signal.fromHz));
  const change = (signal: Signal, came: boolean) => ({
    start_hz: signal.fromHz,
    stop_hz: signal.toHz,
    change: came ? ("came" as const) : ("went" as const),
    before_dbm: came ? FLOOR_DBM : signal.dbm,
    after_dbm: came ? signal.dbm : FLOOR_DBM,
    change_db: 20,
  });
  const changes = [...come.map((signal) => change(signal, true)), ...gone.map((signal) => change(signal, false))];
  return {
    before: other.scan_id,
    after: one.scan_id,
    start_hz: one.start_hz,
    step_hz: one.step_hz,
    difference_db: difference,
    changes: changes.sort((first, second) => first.start_hz - second.start_hz),
    floor_change_db: 0.2,
    words: [],
  };
}

const REGION: Region = {
  name: "region-1",
  words: "an invented region",
  rasters: [
    {
      words: "blocks of 8 MHz",
      width_hz: 8_000_000,
      source: "invented for the gallery",
      dated: "2026",
      unverified: true,
      blocks: BLOCKS.map(({ name, fromHz, toHz }) => ({
        name,
        start_hz: fromHz,
        stop_hz: toHz,
        centre_hz: (fromHz + toHz) / 2,
        television: true,
        words: "",
      })),
    },
  ],
};

const PLAN: Plan = {
  title: "The evening",
  request: {
    ...EMPTY_REQUEST,
    exclusion: [
      { start_hz: 550e6, stop_hz: 558e6, words: "camera crew" },
      { start_hz: 606_200_000, stop_hz: 607_300_000, words: "next door" },
    ],
  },
  carriers: [],
  spares: [],
  complete: false,
  worst_margin_hz: null,
  seed: 0,
  steps: 0,
  seconds: 0,
  relaxations: [],
  bands: [],
};

const PLANS: readonly PlanFacts[] = [
  {
    name: "evening",
    title: PLAN.title,
    revision: 4,
    by: "engineer",
    at_utc_us: NOW_US,
    carriers: 0,
    asked: 0,
    complete: false,
    worst_margin_hz: null,
  },
];

/** Answers what the survey asks for. */
export const answerSurveys: Answer = (path, method) => {
  const [place, id, part, other] = path.replace(/\?.*$/, "").split("/");
  if (path.startsWith("regions")) return { items: [REGION], next: null };
  if (place === "plans") return id === undefined ? { items: PLANS, next: null } : PLAN;
  if (place !== "surveys" || method !== "GET") return undefined;
  if (id === undefined) return { items: SCANS, next: null };
  const one = SCANS.find((facts) => facts.scan_id === id);
  const second = SCANS.find((facts) => facts.scan_id === other);
  if (one === undefined) return undefined;
  if (part === "found") return found(one);
  return second === undefined ? scan(one) : comparison(scan(one), scan(second));
};
