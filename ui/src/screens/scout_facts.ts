import type { Picture } from "../data/picture";
import type { SpectrumBeside } from "../elements/spectrum";
import type { SpectrumTraces } from "../plots/spectrum";
import type { NamedBlock, OwnCarrier } from "../plots/spectrum_marks";
import type { Block, FoundCarrier, Region, Scan, ScanComparison, ScanFound } from "../protocol/model";
import { numbersWords } from "../pure/list_words";
import type { PlanExclusion } from "../pure/plan_request";
import type { RowFacts } from "../pure/row";
import { changesOf, type ScanLines } from "../pure/scan_lines";
import { type Span, spanOf } from "../pure/spectrum";
import { together, without } from "../pure/stretches";
import { words } from "../words/english";

/** A scan older than this is drawn as old: it says little of now (common practice). */
export const OLD_AFTER_S = 3600;
/** A stretch narrower than this is no room for a carrier (common practice). */
const ROOM_LEAST_HZ = 200_000;
/** Something so near to an own carrier stands on it (common practice: half the width of a microphone's signal). */
const ON_OWN_HZ = 100_000;

export function ageOf(scan: { readonly taken_at_utc_us: number }, nowUtcUs: number): number {
  return (nowUtcUs - scan.taken_at_utc_us) / 1e6;
}

/** What is drawn of a scan and of the one held against it. */
export function tracesOf(
  lines: ScanLines,
  against: ScanLines | null,
  comparison: ScanComparison | null,
  old: boolean,
): SpectrumTraces {
  const changes = comparison === null ? { rise: null, fall: null } : changesOf(comparison);
  return { ...lines, against: against?.maximum ?? null, ...changes, old };
}

/** The blocks of a region as they are drawn, television or not. */
export function blocksOf(region: Region | undefined): NamedBlock[] {
  return (region?.rasters ?? []).flatMap((raster) => raster.blocks.map(namedBlock));
}

function namedBlock({ name, start_hz, stop_hz, words }: Block): NamedBlock {
  return { name, words, fromHz: start_hz, toHz: stop_hz };
}

/** The frequencies on which our own devices are set, each with the numbers of its rows; what the scan heard is marked. */
export function ownCarriers(
  picture: Picture,
  rows: readonly RowFacts[],
  carriers: readonly FoundCarrier[],
): OwnCarrier[] {
  const sharing = new Map<number, number[]>();
  for (const row of rows) {
    const hertz = row.carrier === null ? undefined : picture.settings.get(row.carrier)?.reported["frequency_hz"];
    if (typeof hertz === "number") sharing.set(hertz, [...(sharing.get(hertz) ?? []), row.number]);
  }
  return [...sharing]
    .sort(([one], [other]) => one - other)
    .map(([hertz, numbers]) => ({
      hertz,
      numbers,
      label: numbersWords(numbers, words.and, words.to),
      heard: carriers.some((one) => stands(one, hertz)),
    }));
}

function stands(carrier: FoundCarrier, hertz: number): boolean {
  return carrier.start_hz - ON_OWN_HZ < hertz && hertz < carrier.stop_hz + ON_OWN_HZ;
}

/** A stretch of a document as a stretch of the picture. */
export function span({ start_hz, stop_hz }: { readonly start_hz: number; readonly stop_hz: number }): Span {
  return { fromHz: start_hz, toHz: stop_hz };
}

/**
 * Where a carrier may go: what was scanned, less what is taken, less what is kept out; within the windows, if any.
 *
 * Without what the scan found, nobody can say: nothing is room.
 */
export function roomOf(
  scan: Scan,
  found: ScanFound | null,
  exclusions: readonly PlanExclusion[],
  windows: readonly Span[],
): Span[] {
  const scanned = spanOf([{ ...scan, levels_dbm: scan.maximum_dbm }]);
  if (found === null || scanned === null) return [];
  const taken = [...found.exclusions.map(span), ...exclusions.map(span)];
  const free = without([scanned], taken);
  const beyond = windows.length === 0 ? [] : without([scanned], windows);
  return without(free, beyond).filter(({ fromHz, toHz }) => toHz - fromHz >= ROOM_LEAST_HZ);
}

/** What is taken and isn't kept out yet, with the words that a plan keeps. */
export function notKeptOut(found: ScanFound | null, exclusions: readonly PlanExclusion[]): PlanExclusion[] {
  const out = together(exclusions.map(span));
  return (found?.exclusions ?? []).filter(
    ({ start_hz, stop_hz }) => !out.some(({ fromHz, toHz }) => fromHz <= start_hz && stop_hz <= toHz),
  );
}

/** What the spectrum shows beside the levels. */
export function besideOf(
  facts: Pick<SpectrumBeside, "blocks" | "own" | "room" | "windows">,
  found: ScanFound | null,
  exclusions: readonly PlanExclusion[],
): SpectrumBeside {
  const lone = (found?.carriers ?? []).filter((one) => one.block === "");
  return {
    ...facts,
    found: lone.map(({ peak_hz, peak_dbm }) => ({ hertz: peak_hz, dbm: peak_dbm })),
    floor: found?.floor ?? [],
    thresholdDb: found?.threshold_db ?? 0,
    keptOut: exclusions.map((one) => ({ ...span(one), words: one.words })),
  };
}
