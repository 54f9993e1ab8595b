import { html } from "lit";
import type { CommandState, PlanSpare, RetunePrompt, RetuneRun } from "../src/protocol/model";
import type { Section } from "./sections";
import "../src/elements/guided";

const NOW_US = 1_800_000_000_000_000;

const write = (address: string, state: CommandState | null, reason = "") => ({
  address,
  changes: { frequency_hz: 489_400_000 },
  before: { frequency_hz: 474_200_000 },
  command_id: state === null ? "" : "c1",
  state,
  reason,
  takes_back: "",
});

function runOf(pack: CommandState | null, receiver: CommandState | null, prompt: RetunePrompt | null): RetuneRun {
  return {
    run_id: "r1",
    guided: true,
    plan: "evening",
    plan_revision: 3,
    begun_by: "ada",
    begun_utc_us: NOW_US,
    state: prompt === null ? "running" : "asking",
    changed_utc_us: NOW_US,
    steps: [
      {
        number: 1,
        kind: "move",
        link_id: "k07",
        channels: ["house-1/channel/3"],
        from_hz: [474_200_000],
        to_hz: 489_400_000,
        writes: [write("packs/k07", pack), write("house-1/channel/3", receiver)],
        silent_at_most_s: 2,
        by_hand: false,
        cautions: [],
        state: "running",
        reason: "",
        heard: null,
      },
    ],
    items: [],
    left_out: [],
    reason: "",
    prompt,
    answered: {},
    can_roll_back: false,
  };
}

const muted = {
  code: "desk-muted",
  words: "Ask the desk to mute it. Has the desk answered: muted?",
  answers: ["yes", "no"],
};
const look = {
  code: "look",
  words: "It is unknown whether the pack has moved. Look for it on both frequencies. Where is it?",
  answers: ["old", "new", "neither"],
};
const done = { ...runOf("confirmed", "confirmed", null), state: "done" as const, can_roll_back: true };
const channels = [{ channel: "house-1/channel/3", words: "3 The keeper" }];

const spare = (rank: number, frequency_hz: number, minutes: number | null, quiet_dbm: number | null): PlanSpare => ({
  group: "House",
  zone: "House",
  frequency_hz,
  rank,
  quiet_at_utc_us: minutes === null ? null : NOW_US - minutes * 60e6,
  quiet_dbm,
});
const spares = [
  spare(1, 489_400_000, 4, -108),
  spare(2, 490_100_000, 38, -107),
  spare(3, 491_200_000, null, -71),
  spare(4, 492_000_000, null, null),
];

const panel = (run: RetuneRun | null, lost = false) =>
  html`<redpoll-guided .style=${"max-width: 390px"} still plan="evening" .channels=${channels} .nowUtcUs=${NOW_US} .run=${run} ?lost=${lost}></redpoll-guided>`;

export const GUIDED_SECTIONS: readonly Section[] = [
  {
    name: "redpoll-guided",
    states: [
      ["not begun", panel(null)],
      ["asks before the pack moves", panel(runOf(null, null, muted))],
      ["pack confirmed, receiver asked", panel(runOf("confirmed", "sent", null))],
      ["unknown whether the pack moved", panel(runOf("unknown", null, look))],
      ["done", panel(done)],
      ["nobody answers", panel(runOf("sent", null, null), true)],
    ],
  },
  {
    name: "redpoll-spares-look",
    states: [
      [
        "quiet, too old, taken, never heard",
        html`<redpoll-spares-look .style=${"max-width: 390px"} .nowUtcUs=${NOW_US} .spares=${spares}></redpoll-spares-look>`,
      ],
    ],
  },
];
