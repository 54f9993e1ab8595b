import { expect, test } from "vitest";
import { plainAhead, plainDay } from "../../gallery/evening";
import { positions } from "../../gallery/tern_rock";
import type { Ahead, Production } from "../protocol/model";
import { aheadFacts, placeWords } from "./ahead_facts";

const MINUTE = 60e6;
const NOW = new Date(2026, 10, 25, 20, 0).getTime() * 1000;
const cue = (
  cue_id: string,
  name: string,
  on_air: readonly number[],
  castings = [] as { number: number; part: string }[],
) => ({
  cue_id,
  name,
  act: "two",
  planned_start_s: 0,
  duration_s: 600,
  on_air,
  castings,
});
const production: Production = {
  name: "The Lamp at Tern Rock",
  zones: ["House"],
  positions,
  ...plainDay,
  order: {
    acts: [{ act_id: "two", name: "Act II" }],
    cues: [
      cue("fog", "Fog", [1]),
      cue("court", "The harbour court", [7], [{ number: 7, part: "Clerk" }]),
      cue("storm", "The storm", [1, 2]),
    ],
    sleeps: [],
    swaps: [],
  },
};
const at = { monotonic_us: 0, utc_us: NOW };
const running: Ahead = {
  ...plainAhead,
  show: { revision: 4, phase: "running", zero: at, started: { cue_id: "fog", at }, previous: null },
  late_s: 200,
  on_air: [1],
  cues: [
    { cue_id: "fog", starts_utc_us: NOW - 5 * MINUTE, ends_utc_us: NOW + 10 * MINUTE, entering: [1] },
    { cue_id: "court", starts_utc_us: NOW + 10 * MINUTE, ends_utc_us: NOW + 20 * MINUTE, entering: [7] },
    { cue_id: "storm", starts_utc_us: NOW + 20 * MINUTE, ends_utc_us: NOW + 40 * MINUTE, entering: [1, 2] },
  ],
};

test("the head says act, cue and how late", () => {
  expect(placeWords({ production, ahead: running })).toBe("Act II · Fog · cue 1 of 3 · 3 min late");
  expect(placeWords({ production, ahead: { ...running, late_s: -200 } })).toContain("3 min early");
  expect(placeWords({ production, ahead: plainAhead })).toBe("before the show · first Fog");
  expect(placeWords({ production: { ...production, ...plainDay }, ahead: plainAhead })).toBe("");
});

test("who is due next and then, by the part they play there", () => {
  const { dues, advance, back, revision } = aheadFacts({ production, ahead: running, nowUtcUs: NOW });
  expect(dues).toEqual([
    ["Next", "The harbour court, in 10 min: Clerk"],
    ["Then", "The storm, in 20 min: Keeper, Ferryman"],
  ]);
  expect([advance, back, revision]).toEqual(["On to The harbour court", "", 4]);
});

test("cues stand on the axis from now to the end", () => {
  const { cues } = aheadFacts({ production, ahead: running, nowUtcUs: NOW });
  expect(cues.map(({ left, width, current }) => [left, width, current])).toEqual([
    [0, 0.25, true],
    [0.25, 0.25, false],
    [0.5, 0.5, false],
  ]);
});

test("a pack that won't last says where it ends, by how much it is short and where to swap", () => {
  const runways = [
    {
      number: 1,
      minutes_left: 15,
      minutes_needed: 85,
      minutes_short: 70,
      ends_utc_us: NOW + 15 * MINUTE,
      ends_in_cue: "court",
      swap: { after_cue: "fog", before_cue: "storm", begins_utc_us: NOW, minutes: 10 },
    },
    {
      number: 2,
      minutes_left: 200,
      minutes_needed: 85,
      minutes_short: 0,
      ends_utc_us: null,
      ends_in_cue: null,
      swap: null,
    },
  ];
  const { labels } = aheadFacts({ production, ahead: { ...running, runways }, nowUtcUs: NOW });
  expect(labels).toEqual([
    {
      left: 0.375,
      lane: 0,
      asks: true,
      text: "1 Keeper ends 20:15 in The harbour court, 1 h 10 short · swap after Fog",
    },
  ]);
});

test("a wake that isn't confirmed asks, one that is doesn't", () => {
  const rest = (number: number, confirmed: boolean) =>
    ({ sleep_id: "s", number, phase: "waking", confirmed, begins_utc_us: null, wake_due_utc_us: NOW }) as const;
  const of = (rests: Ahead["rests"]) => aheadFacts({ production, ahead: { ...running, rests }, nowUtcUs: NOW }).labels;
  expect(of([rest(1, true), rest(2, false)])).toEqual([
    { left: 0, lane: 0, asks: true, text: "1 of 2 packs awake, due 20:00" },
  ]);
  expect(of([rest(1, true)])[0]?.asks).toBe(false);
});

test("without a running order the band holds the shortest runways alone", () => {
  const runway = (number: number, minutes_left: number | null) => ({
    number,
    minutes_left,
    minutes_needed: null,
    minutes_short: null,
    ends_utc_us: null,
    ends_in_cue: null,
    swap: null,
  });
  const plain = { production: { ...production, ...plainDay }, nowUtcUs: NOW };
  const facts = aheadFacts({
    ...plain,
    ahead: { ...plainAhead, runways: [runway(1, 300), runway(2, 60), runway(3, null)] },
  });
  expect(facts.cues).toEqual([]);
  expect(facts.labels.map(({ text }) => text)).toEqual(["2 Ferryman lasts 1 h 00, to 21:00"]);
});
