import type { ActCapability } from "../protocol/model";

/** What an act may do that somebody should know before; `none` is done by a click. */
export type ActDanger = "none" | "mutes" | "restarts" | "links" | "keys" | "sounds" | "guarded";

const BY_ACT: Readonly<Record<string, ActDanger>> = {
  restart: "restarts",
  link: "links",
  make_key: "keys",
  set_key: "keys",
  erase_key: "keys",
  tone: "sounds",
};

/** Restart, link, keys and tones are held on every device, whatever it says; others where they mute or are guarded. */
export function dangerOfAct(act: Pick<ActCapability, "act" | "mutes_for_ms" | "guarded">): ActDanger {
  const known = BY_ACT[act.act];
  if (known !== undefined) return known;
  if (act.guarded) return "guarded";
  return act.mutes_for_ms > 0 ? "mutes" : "none";
}
