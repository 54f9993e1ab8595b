import type { Picture } from "../data/picture";
import type { SlotFacts } from "../elements/strip";
import type { RowFacts } from "../pure/row";
import { wordsOf } from "./names";

/** What the five slots show. */
export function slotFacts(picture: Picture, rows: readonly RowFacts[]): (SlotFacts | null)[] {
  const byId = new Map(picture.matters.map((matter) => [matter.matter_id, matter]));
  return picture.slots.map((id) => {
    const matter = id === null ? undefined : byId.get(id);
    if (matter === undefined) return null;
    return {
      matterId: matter.matter_id,
      priority: matter.priority,
      acknowledged: matter.acknowledged,
      returned: matter.returned,
      words: wordsOf(picture, rows, matter),
    };
  });
}
