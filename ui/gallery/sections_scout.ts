import { html } from "lit";
import type { SpectrumBeside } from "../src/elements/spectrum";
import { without } from "../src/pure/stretches";
import type { Section } from "./sections";
import { BLOCKS, COMPARED, OLD_SCAN, ONE_SWEEP, ROOM_TRACES } from "./survey";
import "../src/elements/spectrum";

const keptOut = [
  { fromHz: 550e6, toHz: 558e6, words: "camera crew" },
  { fromHz: 606_200_000, toHz: 607_300_000, words: "next door" },
];
const taken = BLOCKS.filter(({ name }) => ["23", "24", "29", "35", "41", "46"].includes(name));
const beside: SpectrumBeside = {
  blocks: BLOCKS,
  own: [
    { hertz: 518_025_000, label: "1", heard: false },
    { hertz: 522_400_000, label: "2", heard: false },
    { hertz: 606_350_000, label: "3", heard: true },
  ],
  found: [
    { hertz: 486_400_000, dbm: -66 },
    { hertz: 606_350_000, dbm: -54 },
  ],
  floor: [{ frequency_hz: 470e6, floor_dbm: -104 }],
  thresholdDb: 10,
  keptOut,
  room: without([{ fromHz: 470e6, toHz: 694e6 }], [...taken, ...keptOut]),
};
const plain: SpectrumBeside = { ...beside, own: [], keptOut: [], room: [] };

const spectrum = (traces: typeof ROOM_TRACES, shown: SpectrumBeside) =>
  html`<redpoll-spectrum .traces=${traces} .beside=${shown} paintable></redpoll-spectrum>`;

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
];
