import type { Picture } from "../data/picture";
import type { RowFacts } from "../pure/row";
import { words } from "../words/english";
import { wordsOf } from "./names";

const STANDINGS = ["engineer", "operator", "viewer"] as const;

/** The role that says most about what somebody may do here. */
export function standing(roles: readonly string[]): string {
  const found = STANDINGS.find((role) => roles.includes(role));
  return found === undefined ? "" : words.roles[found];
}

/** What a person who can't see the slots hears: the matter that began last. */
export function news(picture: Picture, rows: readonly RowFacts[]): string {
  if (picture.matters.length === 0) return words.allQuiet;
  const latest = picture.matters.reduce((one, other) => (other.began_utc_us > one.began_utc_us ? other : one));
  const said = wordsOf(picture, rows, latest);
  return `${words.priority(latest.priority)}: ${said.title}, ${said.evidence}`;
}
