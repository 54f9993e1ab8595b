import type { Stage } from "./stages";

/** An act that needs nothing but its name. */
export type PlainAct =
  | "advance"
  | "back"
  | "acknowledge"
  | "retry"
  | "find"
  | "theme"
  | "keys"
  | "receiver"
  | "devices"
  | "waiting"
  | "units";

/** What a key stands for. */
export type KeyAct =
  | { readonly act: "move"; readonly by: number }
  | { readonly act: "slot"; readonly index: number }
  | { readonly act: "stage"; readonly stage: Stage }
  | { readonly act: "open" | "close" | PlainAct };

const FAR = 100_000;

const ACTS: Readonly<Record<string, KeyAct>> = {
  j: { act: "move", by: 1 },
  ArrowDown: { act: "move", by: 1 },
  k: { act: "move", by: -1 },
  ArrowUp: { act: "move", by: -1 },
  Home: { act: "move", by: -FAR },
  End: { act: "move", by: FAR },
  Enter: { act: "open" },
  Escape: { act: "close" },
  a: { act: "acknowledge" },
  r: { act: "retry" },
  o: { act: "receiver" },
  d: { act: "devices" },
  w: { act: "waiting" },
  n: { act: "advance" },
  b: { act: "back" },
  u: { act: "units" },
  t: { act: "theme" },
  S: { act: "stage", stage: "scout" },
  C: { act: "stage", stage: "chart" },
  H: { act: "stage", stage: "heed" },
  "/": { act: "find" },
  "?": { act: "keys" },
  "1": { act: "slot", index: 0 },
  "2": { act: "slot", index: 1 },
  "3": { act: "slot", index: 2 },
  "4": { act: "slot", index: 3 },
  "5": { act: "slot", index: 4 },
};

type Pressed = Pick<KeyboardEvent, "key" | "ctrlKey" | "altKey" | "metaKey">;

/** The act of a key, or null. Nothing is taken from a field in which somebody types but Escape. */
export function actOfKey(event: Pressed, typing: boolean, keysShown: boolean): KeyAct | null {
  if (event.ctrlKey || event.altKey || event.metaKey || keysShown) return null;
  if (typing && event.key !== "Escape") return null;
  return ACTS[event.key] ?? null;
}
