import type { Matter } from "../protocol/model";
import { clockWords, whole } from "../pure/number_words";
import { words } from "./english";

/** The three lines of a matter: what it is, its evidence with the time it began, the act. */
export interface MatterWords {
  readonly title: string;
  readonly evidence: string;
  readonly act: string;
  /** One or two words for the row it touches. */
  readonly verdict: string;
}

/** Names that the sentences are made of. */
export interface MatterNames {
  /** The thing at the root: `Quay receiver 3`. */
  readonly root: string;
  /** The only row touched, `10 Chorus 3`, or its zone or count where there are several. */
  readonly rows: string;
  /** The numbers of the rows touched: `21 and 22`. */
  readonly numbers: string;
}

type Sentences = (matter: Matter, names: MatterNames) => MatterWords;

const SENTENCES: Readonly<Record<string, Sentences>> = {
  "contact-lost": (matter, names) => ({
    title: `${names.root} is silent`,
    evidence: `${names.numbers === "" ? "" : `${names.numbers} `}${since(matter)}`,
    act: "ask the desk, find the break",
    verdict: "no report",
  }),
  "contact-lost-together": (matter, names) => ({
    title: words.fellSilent(matter.evidence["devices_count"] ?? Number.NaN),
    evidence: `${names.numbers === "" ? "" : `${names.numbers} `}${since(matter)}`,
    act: "ask the desk, look for a switch",
    verdict: "no report",
  }),
  "weak-rf": (matter, names) => ({
    title: isHeard(matter) ? `${names.rows} is weak` : `${names.rows} is not heard`,
    evidence: `${since(matter)}${margin(matter)}`,
    act: isHeard(matter) ? "see to pack, body, antenna" : "see to cells, switch, frequency",
    verdict: isHeard(matter) ? "weak" : "not heard",
  }),
};

/** The words of a matter. A cause that the catalogue doesn't know is said as the console named it. */
export function matterWords(matter: Matter, names: MatterNames): MatterWords {
  const known = SENTENCES[matter.cause];
  if (known !== undefined) return known(matter, names);
  return {
    title: `${names.rows}: ${matter.cause.replaceAll("-", " ")}`,
    evidence: since(matter),
    act: "open the row to see the evidence",
    verdict: matter.cause.replaceAll("-", " "),
  };
}

/** A carrier so little over the floor is none; common practice. */
const HEARD_FROM_DB = 3;

function isHeard(matter: Matter): boolean {
  return (matter.evidence["better_branch_margin_db"] ?? HEARD_FROM_DB) >= HEARD_FROM_DB;
}

function since(matter: Matter): string {
  return words.since(clockWords(matter.began_utc_us));
}

function margin(matter: Matter): string {
  const over = matter.evidence["better_branch_margin_db"];
  return over === undefined ? "" : `, ${whole(over)} dB margin`;
}
