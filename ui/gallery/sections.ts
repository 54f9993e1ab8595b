import { html, type TemplateResult } from "lit";
import type { AheadFacts } from "../src/elements/ahead";
import type { FootFacts } from "../src/elements/foot";
import type { SlotFacts } from "../src/elements/strip";
import type { Capability, Command, ValueSchema } from "../src/protocol/model";
import { Quality } from "../src/protocol/quality";
import type { Reading } from "../src/pure/reading";
import { matterWords } from "../src/words/matter_words";
import { command, matter } from "./fake_console";
import { capability } from "./tern_rock";
import "../src/elements/ahead";
import "../src/elements/axis";
import "../src/elements/control";
import "../src/elements/foot";
import "../src/elements/hold";
import "../src/elements/life";
import "../src/elements/mark";
import "../src/elements/stages";
import "../src/elements/strip";
import "../src/elements/top";

/** One element of the gallery with its states. */
export interface Section {
  readonly name: string;
  readonly states: readonly (readonly [state: string, shown: TemplateResult])[];
}

const reading = (value: number, quality: Quality = Quality.Good, ageS = 0): Reading => ({ value, quality, ageS });
const names = { root: "Quay receiver 3", rows: "10 Chorus 3", numbers: "21 and 22" };
const BEGAN_UTC_US = Date.UTC(2026, 4, 1, 18, 14, 24) * 1000;

function slot(parts: Parameters<typeof matter>[0]): SlotFacts {
  const one = matter({ began_utc_us: BEGAN_UTC_US, evidence: { better_branch_margin_db: 12 }, ...parts });
  return {
    matterId: one.matter_id,
    priority: one.priority,
    acknowledged: one.acknowledged,
    returned: one.returned,
    words: matterWords(one, names),
  };
}

const marks: Section = {
  name: "redpoll-mark",
  states: [1, 2, 3].flatMap((priority) => [
    [`priority ${priority}`, html`<redpoll-mark .priority=${priority}></redpoll-mark>`] as const,
    [`priority ${priority}, acknowledged`, html`<redpoll-mark .priority=${priority} hollow></redpoll-mark>`] as const,
  ]),
};

const life: Section = {
  name: "redpoll-life",
  states: [
    ["minutes and share", html`<redpoll-life .minutes=${reading(185)} .fraction=${reading(0.6)}></redpoll-life>`],
    [
      "lasts the evening",
      html`<redpoll-life .minutes=${reading(185)} .fraction=${reading(0.6)} .needed=${120}></redpoll-life>`,
    ],
    [
      "won't last it",
      html`<redpoll-life .minutes=${reading(85)} .fraction=${reading(0.3)} .needed=${120}></redpoll-life>`,
    ],
    ["nearly empty", html`<redpoll-life .minutes=${reading(9)} .fraction=${reading(0.04)}></redpoll-life>`],
    ["share alone", html`<redpoll-life .fraction=${reading(0.35)}></redpoll-life>`],
    ["too old", html`<redpoll-life .minutes=${reading(185, Quality.Uncertain, 92)}></redpoll-life>`],
    ["unknown is blank", html`<redpoll-life></redpoll-life>`],
  ],
};

const three = [
  slot({ matter_id: "a", priority: 1, cause: "contact-lost" }),
  slot({ matter_id: "b", priority: 2 }),
  slot({ matter_id: "c", priority: 3, cause: "contact-lost" }),
];

const strip: Section = {
  name: "redpoll-strip",
  states: [
    ["nothing needs you", html`<redpoll-strip .slots=${[null, null, null, null, null]}></redpoll-strip>`],
    ["three priorities", html`<redpoll-strip .slots=${[...three, null, null]}></redpoll-strip>`],
    [
      "acknowledged, over by itself, selected, more wait",
      html`<redpoll-strip .waiting=${3} .selected=${"d"} .slots=${[
        slot({ matter_id: "a", acknowledged: true }),
        slot({ matter_id: "b", returned: true }),
        slot({ matter_id: "d" }),
        null,
        slot({ matter_id: "e", priority: 3 }),
      ]}></redpoll-strip>`,
    ],
  ],
};

function schema(parts: Partial<ValueSchema> & Pick<ValueSchema, "type">): ValueSchema {
  return { minimum: null, maximum: null, multiple_of: null, enum: [], maximum_length: 64, ...parts };
}

const lowCut = capability([], "low_cut_hz", schema({ type: "integer", enum: [0, 80, 120] }), { unit: "Hz" });
const gain = capability([], "input_trim_db", schema({ type: "number", minimum: -12, maximum: 24, multiple_of: 1 }), {
  unit: "dB",
});

function control(one: Capability, value: boolean | number | string | null, state?: Command["state"], reason = "") {
  const asked = typeof value === "number" ? 120 : true;
  const about = state === undefined ? null : command({ state, reason, changes: { [one.field]: asked } });
  return html`<redpoll-control .capability=${one} .place=${"pack"} .value=${value} .command=${about} .target=${"10 Chorus 3"}></redpoll-control>`;
}

const controls: Section = {
  name: "redpoll-control",
  states: [
    ["choice", control(lowCut, 80)],
    ["requested", control(lowCut, 80, "sent")],
    ["waits until the pack wakes", control(lowCut, 80, "waiting for wake")],
    ["confirmed", control(lowCut, 120, "confirmed")],
    ["refused", control(lowCut, 80, "refused", "its panel is locked")],
    ["outcome unknown", control(lowCut, 80, "unknown", "no report came within 5 s")],
    ["number with a step", control(gain, 6)],
    ["switch", control(capability([], "muted", schema({ type: "boolean" })), false)],
    ["text", control(capability([], "name", schema({ type: "string" })), "Keeper")],
    ["never reported", control(gain, null)],
    ["can't be set", control({ ...gain, writable: false }, 6)],
    ["unknown integer", control(capability([], "lamp_level", schema({ type: "integer", minimum: 0, maximum: 7 })), 3)],
    [
      "unknown choice, many values",
      control(
        capability([], "scene", schema({ type: "string", enum: ["a", "b", "c", "d", "e", "f", "g"] }), {
          words: "scene memory",
        }),
        "c",
      ),
    ],
    ["unknown switch", control(capability([], "beacon", schema({ type: "boolean" }), { mutes: true }), true)],
  ],
};

const hold: Section = {
  name: "redpoll-hold",
  states: [
    [
      "at rest; held for 0.8 s it acts",
      html`<redpoll-hold label="Hold to set 10 Chorus 3 to 50 mW: changes how far the pack reaches"></redpoll-hold>`,
    ],
  ],
};

const foot: FootFacts = {
  devices: 12,
  reporting: 11,
  channels: 24,
  states: { "on air": 19, spare: 2, asleep: 1, off: 0, "no report": 2, removed: 0, unknown: 0 },
  oldest: "31 s",
  written: "20:14:36",
  failing: "",
  waiting: 0,
};

const evening: AheadFacts = {
  revision: 8,
  advance: "On to The widow's song",
  back: "Back to Interval",
  dues: [
    ["Next", "The widow's song, in 9 min: Chorus 1, Chorus 2"],
    ["Then", "The harbour court, in 19 min: Clerk"],
  ],
  cues: [
    { left: 0, width: 0.2, name: "Fog", clock: "20:05", current: true },
    { left: 0.2, width: 0.2, name: "The widow's song", clock: "20:24", current: false },
    { left: 0.4, width: 0.6, name: "The harbour court", clock: "20:34", current: false },
  ],
  labels: [
    { left: 0, lane: 0, text: "1 of 8 packs awake, due 19:55", asks: true },
    { left: 0.5, lane: 0, text: "4 Tern ends 20:51 in The harbour court, 23 min short · swap after Fog", asks: true },
  ],
  more: 2,
};

const ahead: Section = {
  name: "redpoll-ahead",
  states: [
    ["in the midst of it", html`<redpoll-ahead class="wide" .facts=${evening}></redpoll-ahead>`],
    [
      "before the show",
      html`<redpoll-ahead class="wide" .facts=${{ ...evening, advance: "Begin Fog", back: "", labels: [], more: 0 }}></redpoll-ahead>`,
    ],
    [
      "no running order",
      html`<redpoll-ahead class="wide" .facts=${{ ...evening, advance: "", back: "", dues: [], cues: [], more: 0, labels: [{ left: 0.2, lane: 0, text: "11 Chorus 4 lasts 45 min, to 20:59", asks: false }] }}></redpoll-ahead>`,
    ],
  ],
};

const frame: Section = {
  name: "redpoll-top, redpoll-stages, redpoll-foot, redpoll-axis",
  states: [
    [
      "top, simulated",
      html`<redpoll-top .production=${"The Lamp at Tern Rock"} simulated .person=${"this machine"} .standing=${"engineer"} .clock=${"20:14:36"}></redpoll-top>`,
    ],
    [
      "top, in the running order",
      html`<redpoll-top .production=${"The Lamp at Tern Rock"} .place=${"Act II · Fog · cue 8 of 13 · 3 min late"} .person=${"this machine"} .standing=${"engineer"} .clock=${"20:14:36"}></redpoll-top>`,
    ],
    [
      "top, no production",
      html`<redpoll-top .person=${"viewer"} .standing=${"viewer"} .clock=${"20:14:36"}></redpoll-top>`,
    ],
    ["stages", html`<redpoll-stages current="chart"></redpoll-stages>`],
    ["axis", html`<redpoll-axis class="wide"></redpoll-axis>`],
    ["foot", html`<redpoll-foot .facts=${foot}></redpoll-foot>`],
    [
      "foot, the journal fails",
      html`<redpoll-foot .facts=${{ ...foot, failing: "the disk is full", waiting: 12 }} .said=${"Acknowledged."}></redpoll-foot>`,
    ],
  ],
};

export const SECTIONS: readonly Section[] = [marks, life, strip, controls, hold, frame, ahead];
