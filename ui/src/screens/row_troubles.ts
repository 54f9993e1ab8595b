import type { Picture } from "../data/picture";
import type { Matter } from "../protocol/model";
import { type Bracket, layBrackets } from "../pure/brackets";
import type { RowFacts } from "../pure/row";
import { wordsOf } from "./names";

/** What a row's matters make of it. */
export interface RowTrouble {
  readonly priority: number;
  readonly acknowledged: boolean;
  readonly verdict: string;
  readonly matterId: string;
}

export const NO_TROUBLE: RowTrouble = { priority: 0, acknowledged: false, verdict: "", matterId: "" };

/** The trouble of each row by its channel; the mark is the row's own only where the matter touches no other row. */
export function rowTroubles(picture: Picture, rows: readonly RowFacts[]): Map<string, RowTrouble> {
  const troubles = new Map<string, RowTrouble>();
  for (const matter of [...picture.matters].reverse()) {
    for (const channel of matter.rows) troubles.set(channel, troubleOf(picture, rows, matter));
  }
  return troubles;
}

function troubleOf(picture: Picture, rows: readonly RowFacts[], matter: Matter): RowTrouble {
  return {
    priority: matter.rows.length === 1 ? matter.priority : 0,
    acknowledged: matter.acknowledged || matter.returned,
    verdict: matter.returned ? "" : wordsOf(picture, rows, matter).verdict,
    matterId: matter.matter_id,
  };
}

/** The brackets of matters that touch several rows and still hold. */
export function rowBrackets(picture: Picture, rows: readonly RowFacts[]): Bracket[] {
  const place = new Map(rows.map((row, index) => [row.channel, index]));
  const held = picture.matters.filter((matter) => !matter.returned);
  return layBrackets(
    held.map((matter) => ({
      matter_id: matter.matter_id,
      priority: matter.priority,
      acknowledged: matter.acknowledged,
      rows: matter.rows.flatMap((channel) => place.get(channel) ?? []),
    })),
  );
}
