import { html } from "lit";
import type { SpectrumBeside } from "../src/elements/spectrum";
import { without } from "../src/pure/stretches";
import type { Section } from "./sections";
import { BLOCKS, COMPARED, OLD_SCAN, ONE_SWEEP, ROOM_TRACES } from "./survey";
import "../src/elements/findings";
import "../src/elements/keep_out";
import "../src/elements/scans";
import "../src/elements/spectrum";

const keptOut = [
  { fromHz: 550e6, toHz: 558e6, words: "camera crew" },
  { fromHz: 606_200_000, toHz: 607_300_000, words: "next door" },
];
const taken = BLOCKS.filter(({ name }) => ["23", "24", "29", "35", "41", "46"].includes(name));
const beside: SpectrumBeside = {
  blocks: BLOCKS,
  own: [
    { hertz: 518_025_000, numbers: [1], label: "1", heard: false },
    { hertz: 522_400_000, numbers: [2], label: "2", heard: false },
    { hertz: 606_350_000, numbers: [3], label: "3", heard: true },
  ],
  found: [
    { hertz: 486_400_000, dbm: -66 },
    { hertz: 606_350_000, dbm: -54 },
  ],
  floor: [{ frequency_hz: 470e6, floor_dbm: -104 }],
  thresholdDb: 10,
  keptOut,
  windows: [],
  room: without([{ fromHz: 470e6, toHz: 694e6 }], [...taken, ...keptOut]),
};
const plain: SpectrumBeside = { ...beside, own: [], keptOut: [], room: [] };

const spectrum = (traces: typeof ROOM_TRACES, shown: SpectrumBeside) =>
  html`<redpoll-spectrum .traces=${traces} .beside=${shown} paintable></redpoll-spectrum>`;

const line = (scanId: string, place: string, age: string) => ({
  scanId,
  place,
  age,
  clock: "20:14",
  with: "house-1/carrier/1",
  simulated: "Simulated",
});
const finding = (mark: "up" | "down", strong: boolean, beside: string) => ({
  fromHz: 566e6,
  toHz: 566.2e6,
  mark,
  strong,
  beside,
  where: "566.025",
  what: "\u2212104 → \u221283 dBm",
});

export const SCOUT_SECTIONS: readonly Section[] = [
  {
    name: "redpoll-spectrum",
    states: [
      ["many sweeps, own carriers, what is kept out", spectrum(ROOM_TRACES, beside)],
      ["one sweep", spectrum(ONE_SWEEP, plain)],
      ["held against an earlier scan", spectrum(COMPARED, beside)],
      ["old", spectrum(OLD_SCAN, beside)],
      ["nothing measured yet", html`<redpoll-spectrum></redpoll-spectrum>`],
    ],
  },
  {
    name: "redpoll-scans",
    states: [
      [
        "one looked at, one held against it",
        html`<redpoll-scans .shown=${"b"} .held=${"a"} .lines=${[
          line("b", "House left", "12 min ago"),
          line("a", "House left", "6 h 55 ago"),
          { ...line("c", "Quay north", "2 days ago"), simulated: "", with: "borrowed scanner · file quay.csv" },
        ]}></redpoll-scans>`,
      ],
    ],
  },
  {
    name: "redpoll-findings",
    states: [
      [
        "what changed",
        html`<redpoll-findings .sentences=${["The floor rose by 3 dB."]} .more=${"and 12 more"} .lines=${[
          finding("up", true, "came"),
          finding("up", false, "louder"),
          finding("down", false, "quieter"),
          finding("down", true, "went"),
        ]}></redpoll-findings>`,
      ],
    ],
  },
  {
    name: "redpoll-keep-out",
    states: [
      ["no plan yet", html`<redpoll-keep-out></redpoll-keep-out>`],
      [
        "no plan yet, but something was scanned",
        html`<redpoll-keep-out allowed .suggested=${"The Lamp at Tern Rock"}></redpoll-keep-out>`,
      ],
      [
        "of a plan",
        html`<redpoll-keep-out allowed .plans=${[{ name: "evening", title: "The evening" }]} .taken=${4} .standing=${"written, revision 5"}
          .exclusions=${[{ start_hz: 550e6, stop_hz: 558e6, words: "camera crew" }]}></redpoll-keep-out>`,
      ],
      [
        "seen by a viewer",
        html`<redpoll-keep-out .plans=${[{ name: "evening", title: "The evening" }]} .exclusions=${[]}></redpoll-keep-out>`,
      ],
    ],
  },
];
