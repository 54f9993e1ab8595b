import type { ActCapability, Argument, Command, CommandState } from "../protocol/model";
import type { ActDanger } from "../pure/act_danger";
import { decimal } from "../pure/number_words";

/** The acts that everybody knows: what the button says, and what is being done meanwhile. */
const ACTS: Readonly<Record<string, string>> = {
  identify: "Show which one it is",
  link: "Link a pack",
  make_key: "Make a new key",
  set_key: "Put a key in",
  erase_key: "Erase the key",
  tone: "Send a test tone",
  scan: "Scan the spectrum",
  restart: "Restart",
};

const ARGUMENTS: Readonly<Record<string, string>> = {
  seconds: "for how long",
  medium: "over",
  start_hz: "from",
  stop_hz: "to",
  step_hz: "in steps of",
  level_db: "level",
  level_dbfs: "level",
  key: "key",
  pack: "pack",
  frequency_hz: "frequency",
};

/** What an act is called: ours where it is known, else the device's own words, else its name. */
export function actWords(act: Pick<ActCapability, "act" | "words">): string {
  return ACTS[act.act] ?? capital(act.words || act.act.replaceAll("_", " "));
}

/** What an argument is called. */
export function argumentWords(argument: Pick<Argument, "name" | "words">): string {
  return argument.words || (ARGUMENTS[argument.name] ?? argument.name.replaceAll("_", " "));
}

/** What an act does to the sound and to people, for how long; empty where nothing. */
export function harmWords(act: Pick<ActCapability, "act" | "mutes_for_ms" | "guarded">, danger: ActDanger): string {
  const mutes = act.mutes_for_ms > 0 ? `mutes for ${spanWords(act.mutes_for_ms)}` : "";
  return [mutes, HARMS[danger]].filter((part) => part !== "").join(", ");
}

const HARMS: Readonly<Record<ActDanger, string>> = {
  none: "",
  mutes: "",
  restarts: "gone until it is up again",
  links: "a pack linked elsewhere is lost there",
  keys: "silent until both ends have the same key",
  sounds: "everybody who listens hears it",
  guarded: "it can hurt somebody's hearing",
};

function spanWords(milliseconds: number): string {
  const seconds = milliseconds / 1000;
  return seconds < 90 ? `${decimal(seconds, seconds < 2 ? 1 : 0)} s` : `${Math.round(seconds / 60)} min`;
}

/** The words of acts under way and over. */
export const actStateWords = {
  do: (what: string) => what,
  hold: (what: string, target: string, harm: string) =>
    `Hold to ${what.replace(/^./, (letter) => letter.toLowerCase())} · ${target}${harm === "" ? "" : `: ${harm}`}`,
  needsHand: "needs a hand at the pack",
  needsAwake: "waits until the pack is awake",
  missing: (name: string) => `still missing: ${name}`,
  secret: "goes to the device and is shown nowhere, not even here again",
  progress: (percent: string) => `${percent} %`,
  cancel: "Give up",
  close: "I have looked, close it",
  closeReason: "looked at by hand",
  seen: "Seen",
  hand: {
    link: "Now hold the pack's link key until its lamp answers.",
    any: "Now somebody must do it at the pack.",
  },
  wake: "Waits until the pack wakes.",
  levels: "What the scan has found so far",
  levelsSpan: (from: string, to: string) => `${from} to ${to} MHz`,
  strongest: (level: string, at: string) => `strongest ${level} dBm at ${at} MHz`,
  nothingYet: "nothing measured yet",
  noAnswer: "The console doesn't answer; nothing was sent.",
  done: "done",
} as const;

const STATES: Readonly<Partial<Record<CommandState, string>>> = {
  requested: "asked, not sent yet",
  sent: "sent, no answer yet",
  accepted: "under way",
  confirmed: "done",
  unknown: "outcome unknown",
  "not applied": "was not done",
};

/** How an act stands. */
export function actStateOf(command: Command, otherwise: (state: CommandState) => string): string {
  return STATES[command.state] ?? otherwise(command.state);
}

const RESULTS: Readonly<Record<string, string>> = { key_fingerprint: "fingerprint of the key" };

/** What an act gave back, one entry each. */
export function resultWords(result: Command["result"]): string[] {
  return Object.entries(result).map(([name, value]) => `${RESULTS[name] ?? name.replaceAll("_", " ")} ${value}`);
}

function capital(text: string): string {
  return text.replace(/^./, (letter) => letter.toUpperCase());
}
