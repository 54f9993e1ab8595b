import type { Picture } from "../data/picture";
import type { SlotFacts } from "../elements/strip";
import type { Matter } from "../protocol/model";
import type { RowFacts } from "../pure/row";
import { wordsOf } from "./names";

/** What the five slots show. */
export function slotFacts(picture: Picture, rows: readonly RowFacts[]): (SlotFacts | null)[] {
  const byId = new Map(picture.matters.map((matter) => [matter.matter_id, matter]));
  return picture.slots.map((id) => {
    const matter = id === null ? undefined : byId.get(id);
    return matter === undefined ? null : slotOf(picture, rows, matter);
  });
}

/** The matters that found no slot, in the order in which they will get one. */
export function waitingFacts(picture: Picture, rows: readonly RowFacts[]): SlotFacts[] {
  const waiting = picture.matters.filter((matter) => !picture.slots.includes(matter.matter_id));
  return waiting.map((matter) => slotOf(picture, rows, matter));
}

function slotOf(picture: Picture, rows: readonly RowFacts[], matter: Matter): SlotFacts {
  return {
    matterId: matter.matter_id,
    priority: matter.priority,
    acknowledged: matter.acknowledged,
    returned: matter.returned,
    words: wordsOf(picture, rows, matter),
  };
}
