import type { Store } from "../data/store";
import type { Place } from "../protocol/model";
import type { Part } from "../pure/parts";
import { words } from "../words/english";
import { sheetWords } from "../words/sheet_words";
import { rowName } from "./names";

/** What a part is called: `Channel 1 · 3 Pilot`, `Antenna input A`, `Pack k03 · 3 Pilot`. */
export function partTitle(store: Store, part: Pick<Part, "place" | "address" | "label">): string {
  const group = words.detail.groups[part.place];
  if (part.place === "device") return sheetWords.whole;
  const who = whoOf(store, part.place, part.address);
  const label = part.place === "branch" || part.place === "input" ? part.label.toUpperCase() : part.label;
  return who === "" ? `${group} ${label}` : `${group} ${label} · ${who}`;
}

/** Whose a thing is: the row that a channel or a pack serves, else the name it was given. */
export function whoOf(store: Store, place: Place, address: string): string {
  const row = store.rows.find((one) => (place === "pack" ? one.pack === address : one.channel === address));
  if (row !== undefined && (place === "pack" || place === "channel")) return rowName(row);
  const name = store.picture?.settings.get(address)?.reported["name"];
  return typeof name === "string" ? name : "";
}

/** What a pack is called by its identity: its row's name, else the identity itself. */
export function packName(store: Store, identity: string): string {
  const address = identity.startsWith("pack/") ? identity : `pack/${identity}`;
  const row = store.rows.find((one) => one.pack === address);
  return row === undefined ? identity : rowName(row);
}
