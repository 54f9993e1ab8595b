import type { Picture } from "../data/picture";
import type { Matter } from "../protocol/model";
import { numbersWords } from "../pure/list_words";
import type { RowFacts } from "../pure/row";
import { words } from "../words/english";
import { placeOf } from "../words/event_words";
import { type MatterWords, matterWords } from "../words/matter_words";

/** A row as people call it: `10 Chorus 3`. */
export function rowName(row: RowFacts): string {
  return `${row.number} ${row.part}`;
}

/** The name a device has been given, else its id. */
export function deviceName(picture: Picture, deviceId: string): string {
  const name = picture.settings.get(deviceId)?.reported["name"];
  return typeof name === "string" && name !== "" ? name : deviceId;
}

/** The three lines of a matter, with the names of this production. */
export function wordsOf(picture: Picture, rows: readonly RowFacts[], matter: Matter): MatterWords {
  const touched = rows.filter((row) => matter.rows.includes(row.channel));
  const only = touched.length === 1 ? touched[0] : undefined;
  const numbers = numbersWords(
    touched.map((row) => row.number),
    words.and,
    words.to,
  );
  return matterWords(matter, {
    root: rootName(picture, matter.root),
    rows: only === undefined ? numbers : rowName(only),
    numbers,
  });
}

function rootName(picture: Picture, root: string): string {
  return placeOf(root) === "device" ? deviceName(picture, root) : root;
}
