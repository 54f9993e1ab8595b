/** What the survey says. */

export const scoutWords = {
  picture: {
    label: "Spectrum",
    names: {
      blocks: "blocks",
      own: "own carriers",
      levels: "dBm",
      often: "how often",
      change: "came ↑ went ↓",
      room: "room, MHz",
      whole: "all of it",
    },
    floorName: "floor",
    near: "nearer",
    far: "farther",
    all: "all",
    point: "Point at the picture, or use ← →, to read. Drag in the room below it to keep something out.",
    pointAlone: "Point at the picture, or use ← →, to read.",
    painting: (from: string, to: string, wide: string) =>
      `Keep out ${from} to ${to} MHz, ${wide} MHz wide: e or ↵ to keep, Esc to drop`,
    at: (megahertz: string) => `${megahertz} MHz`,
    level: (dbm: string) => `${dbm} dBm at the most`,
    median: (dbm: string) => `${dbm} half of the time`,
    often: (percent: string) => `above the mark ${percent} % of the time`,
    before: (dbm: string) => `${dbm} before`,
    notHeard: "not measured here",
    keptOut: (words: string) => (words === "" ? "kept out" : `kept out: ${words}`),
    own: (label: string) => `own carrier ${label}`,
  },
} as const;
