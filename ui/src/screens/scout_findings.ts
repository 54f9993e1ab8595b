import type { Finding } from "../elements/findings";
import type { FoundCarrier, ScanChange, ScanComparison, ScanFound } from "../protocol/model";
import { decimal, megahertz, whole } from "../pure/number_words";
import { scoutWords } from "../words/scout_words";

/** What the list of findings shows. */
export interface Findings {
  readonly sentences: readonly string[];
  readonly lines: readonly Finding[];
  readonly more: string;
}

/** So many lines at the most; the rest is counted. */
export const LINES_MOST = 200;
const FLOOR_MOVED_DB = 1;
const { found: words } = scoutWords;

/** What a scan shows: its floor, which blocks are taken, which carriers stand out. */
export function findingsOf(found: ScanFound): Findings {
  const floors = found.floor.map((one) => one.floor_dbm);
  const taken = found.blocks.filter((one) => one.occupied);
  const lone = found.carriers.filter((one) => one.block === "");
  const measured = found.blocks.filter((one) => one.share !== null);
  return {
    sentences: [
      ...(floors.length === 0 ? [] : [words.floor(whole(Math.min(...floors)), whole(Math.max(...floors)))]),
      ...(measured.length === 0 ? [] : [words.blocks(taken.length, measured.length, names(taken))]),
      ...found.words.map(sentence),
      words.carriers(lone.length),
    ],
    lines: lone.slice(0, LINES_MOST).map((one) => carrierLine(one, found)),
    more: lone.length > LINES_MOST ? words.more(lone.length - LINES_MOST) : "",
  };
}

/** What the console says of a scan, as a sentence. */
function sentence(words: string): string {
  return `${words.replace(/^./, (letter) => letter.toUpperCase())}.`;
}

function names(blocks: readonly { readonly name: string }[]): string {
  return blocks.map((one) => one.name).join(", ");
}

function carrierLine(one: FoundCarrier, found: ScanFound): Finding {
  const block = found.blocks.find(({ start_hz, stop_hz }) => one.peak_hz >= start_hz && one.peak_hz < stop_hz);
  const often = one.occupancy < 1 ? words.often(whole(one.occupancy * 100)) : "";
  const parts = [
    block === undefined ? "" : scoutWords.picture.block(block.name, block.words),
    one.wide ? words.wide : "",
    often,
  ];
  return {
    fromHz: one.start_hz,
    toHz: one.stop_hz,
    mark: "none",
    strong: false,
    where: megahertz(one.centre_hz),
    what: words.carrier(whole(one.peak_dbm)),
    beside: parts.filter((part) => part !== "").join(" · "),
  };
}

/** What came, what went, what changed, and whether the floor moved. */
export function changeFindings(comparison: ScanComparison): Findings {
  const moved = comparison.floor_change_db ?? 0;
  const amount = decimal(Math.abs(moved), 0);
  const floor = Math.abs(moved) < FLOOR_MOVED_DB ? [] : [moved > 0 ? words.floorRose(amount) : words.floorFell(amount)];
  const { changes } = comparison;
  return {
    sentences: [...floor, ...comparison.words.map(sentence), ...(changes.length === 0 ? [words.nothingChanged] : [])],
    lines: changes.slice(0, LINES_MOST).map(changeLine),
    more: changes.length > LINES_MOST ? words.more(changes.length - LINES_MOST) : "",
  };
}

function changeLine(one: ScanChange): Finding {
  return {
    fromHz: one.start_hz,
    toHz: one.stop_hz,
    mark: one.change === "came" || one.change === "louder" ? "up" : "down",
    strong: one.change === "came" || one.change === "went",
    where: megahertz((one.start_hz + one.stop_hz) / 2),
    what: words.change(whole(one.before_dbm), whole(one.after_dbm)),
    beside: words.changes[one.change],
  };
}
