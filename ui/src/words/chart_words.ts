import type { MastLook } from "../plots/lanes";
import type { JobState } from "../protocol/model";
import type { GroupKind } from "../pure/plan_request";

const many = (count: number, one: string, more: string) => `${count} ${count === 1 ? one : more}`;

/** What the screen of frequencies says. */
export const chartWords = {
  caution:
    "Planning aid only. Nothing shown here is a licence or permission to transmit. Bands, power, bandwidth and licensing differ by country and change; check with your national spectrum authority before use.",

  plans: "Plan",
  newPlan: "New plan",
  newName: "Name of the new plan",
  make: "Make it",
  noPlans: "There is no plan yet.",
  loading: "Reading the plans …",
  noAnswer: "The console doesn't answer.",
  needsEngineer: "Changing a plan needs the role engineer.",
  keep: "Keep the request",
  kept: "Kept.",
  changed: "changed, not kept yet",
  changedMeanwhile: "Somebody changed this plan meanwhile. It was read anew; what you had changed is gone.",
  forget: "Forget the changes",

  find: "Find frequencies",
  stop: "Stop, keep the best",
  searchFor: "for",
  seconds: "s",
  asked: (asked: number) => `${many(asked, "carrier", "carriers")} asked for, none found yet`,
  nothingAsked: "Say who needs frequencies, and where they may stand.",
  stand: (stand: number, asked: number) => (stand === asked ? `All ${asked} stand` : `${stand} of ${asked} stand`),
  margin: (kilohertz: string) => `worst margin ${kilohertz} kHz`,
  noMargin: "nothing is near anything",
  spares: (count: number) => many(count, "spare", "spares"),
  broken: (count: number) => `${many(count, "rule is", "rules are")} broken`,
  again: (seed: number, steps: number) => `seed ${seed}, ${many(steps, "step", "steps")}`,
  progress: "Search",
  jobStates: {
    waiting: "waits for its turn",
    running: "searching",
    done: "found",
    stopped: "stopped, the best is kept",
    failed: "the search failed",
  } satisfies Record<JobState, string>,

  tabs: { ask: "Ask", found: "Found", use: "Use" },
  tabsPlain: { ask: "request", found: "carriers", use: "apply, export" },
  tabsLabel: "What to do with the plan",

  lanes: "Carriers by zone and frequency",
  lanesHelp: "Arrow keys go from carrier to carrier, plus and minus zoom, comma and full stop move the view.",
  third: "third order",
  fifth: "fifth order",
  megahertz: "MHz",
  laneCount: (stand: number, asked: number) => (asked === 0 ? `${stand}` : `${stand} of ${asked}`),
  zoomIn: "Closer",
  zoomOut: "Further",
  whole: "Whole",
  view: "Part of the axis in view",
  looks: {
    found: "",
    locked: "locked",
    fixed: "stood before",
    spare: "spare",
    protected: "somebody else's",
  } satisfies Record<MastLook, string>,

  picked: "Picked",
  pickOne: "Pick a carrier to see what stands in its way.",
  lock: "Lock it here",
  unlock: "Let it move",
  unpick: "Put it back",
  makes: (count: number) =>
    `has a part in ${many(count, "product", "products")} of the third order, lit below the axis`,
  neighbours: "Worst neighbours",
  neighboursLoading: "Reading its neighbours …",
  noNeighbours: "No product falls within its guard, nor within twice that.",
  beyond: (kilohertz: string) => `${kilohertz} kHz to spare`,
  short: (kilohertz: string) => `${kilohertz} kHz too near`,
  unguarded: (kilohertz: string) => `${kilohertz} kHz off, not guarded`,
  nextCarrier: "next carrier",
  level: (dbm: string) => `${dbm} dBm`,

  carriers: "Carriers",
  sparesTitle: "Spares",
  spareRank: (rank: number) => `${rank}`,
  quiet: (age: string) => `quiet ${age} ago`,
  quietLevel: (age: string, dbm: string) => `${dbm} dBm, ${age} ago`,
  neverQuiet: "never listened to",
  cantTitle: "Not everybody fits",
  cant: (stand: number, asked: number) => `${stand} of ${asked} is the most that was found. What would let more in:`,
  gain: (gain: number) => `+${gain}`,
  noRelaxation: "Nothing was found that would let more in.",
  sources: "Sources of the bands",
  noSources: "No band has a source yet: check each with your authority.",
  unverified: "unverified",
  faults: "Rules that are broken",

  groupKinds: {
    microphone: "microphones",
    in_ear: "in-ear",
    talkback: "talkback",
  } satisfies Record<GroupKind, string>,
} as const;

/** The keys of this screen. */
export const chartKeys: readonly (readonly [string, string])[] = [
  ["← →", "carrier below, carrier above"],
  ["↑ ↓", "the lane above, the lane below"],
  ["+ −", "closer, further"],
  [",  .", "move the view down, up"],
  ["0", "the whole axis"],
  ["f", "find frequencies"],
  ["x", "stop the search and keep the best"],
  ["l", "lock the picked carrier, or let it move"],
  ["v", "what is asked, what was found, what to do with it"],
  ["Esc", "put the picked carrier back"],
];
