import type { ShowMoved } from "../protocol/events";

/** What moved the show clock, in a sentence. */
export function showMovedWords(event: ShowMoved): string {
  const by = event.by === "" ? "" : ` · ${event.by}`;
  const cue = event.show.started?.cue_id ?? "";
  if (event.show.phase === "before") return `show clock back to before the show${by}`;
  if (event.show.phase === "over") return `show clock to the end${by}`;
  return `show clock to cue ${cue}${by}`;
}
