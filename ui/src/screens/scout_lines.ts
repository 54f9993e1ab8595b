import type { ScanLine } from "../elements/scans";
import type { ScanFacts } from "../protocol/model";
import { ageWords, clockWords } from "../pure/number_words";
import { words } from "../words/english";
import { scoutWords } from "../words/scout_words";
import { ageOf } from "./scout_facts";

const DAY_S = 86_400;

/** A scan as the list shows it. */
export function lineOf(scan: ScanFacts, nowUtcUs: number): ScanLine {
  return {
    scanId: scan.scan_id,
    place: scan.place,
    clock: momentWords(scan.taken_at_utc_us, nowUtcUs),
    age: scanAge(scan, nowUtcUs),
    with: withWords(scan),
    simulated: scan.simulated ? words.simulated : "",
  };
}

/** How old a scan is, in words; days where it is days. */
export function scanAge(scan: { readonly taken_at_utc_us: number }, nowUtcUs: number): string {
  const age = ageOf(scan, nowUtcUs);
  if (age < -1) return scoutWords.ageFuture;
  return scoutWords.age(age >= 2 * DAY_S ? scoutWords.days(Math.floor(age / DAY_S)) : ageWords(age));
}

/** The clock time of a moment, with the date where it isn't of the last twelve hours. */
export function momentWords(utcUs: number, nowUtcUs: number): string {
  const clock = clockWords(utcUs).slice(0, 5);
  if (Math.abs(nowUtcUs - utcUs) < (DAY_S / 2) * 1e6) return clock;
  const day = new Date(utcUs / 1000).toLocaleDateString("en-GB", { day: "numeric", month: "long" });
  return `${day}, ${clock}`;
}

/** With what a scan was made. */
export function withWords({ instrument, source, file }: Pick<ScanFacts, "instrument" | "source" | "file">): string {
  const from = source === "file" ? scoutWords.scans.byFile(file) : "";
  return [instrument, from].filter((part) => part !== "").join(" · ");
}
