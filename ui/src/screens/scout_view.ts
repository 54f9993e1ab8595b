import type { Picture } from "../data/picture";
import { NO_TRACES, NOTHING_BESIDE, type SpectrumBeside } from "../elements/spectrum";
import type { SpectrumTraces } from "../plots/spectrum";
import type { Region, Scan, ScanComparison } from "../protocol/model";
import { ageWords } from "../pure/number_words";
import { requestOf } from "../pure/plan_request";
import type { RowFacts } from "../pure/row";
import { linesOf, type ScanLines } from "../pure/scan_lines";
import type { Span } from "../pure/spectrum";
import { scoutWords } from "../words/scout_words";
import { ageOf, besideOf, blocksOf, OLD_AFTER_S, ownCarriers, roomOf, span, tracesOf } from "./scout_facts";
import type { KeptOut } from "./scout_keep_out";
import type { Survey } from "./scout_survey";

/** What the screen knows beside the survey. */
export interface ScoutContext {
  readonly picture: Picture | null;
  readonly rows: readonly RowFacts[];
  readonly nowUtcUs: number;
}

/** What is drawn of a survey; made anew only when something of it changed, for a scan has many thousand points. */
export class ScoutView {
  traces: SpectrumTraces = NO_TRACES;
  beside: SpectrumBeside = NOTHING_BESIDE;
  /** What the scan that is looked at reaches over. */
  scanned: Span | null = null;
  private madeOf: readonly unknown[] = [];
  private drawnOf: readonly unknown[] = [];

  take(survey: Survey, keptOut: KeptOut, context: ScoutContext): void {
    const { scan, other, comparison, found } = survey;
    const old = scan !== null && ageOf(scan, context.nowUtcUs) > OLD_AFTER_S;
    const drawnOf = [scan, other, comparison, old];
    if (!same(drawnOf, this.drawnOf)) this.draw(scan, other, comparison, old);
    this.drawnOf = drawnOf;
    const madeOf = [scan, found, keptOut.plan, survey.regions, survey.region, context.picture?.settings, context.rows];
    if (!same(madeOf, this.madeOf)) this.make(survey, keptOut, context);
    this.madeOf = madeOf;
  }

  /** The region whose blocks are shown. */
  region({ regions, region }: Survey): Region | undefined {
    return regions.find((one) => one.name === region);
  }

  /** Where the blocks are known from, and whether anybody has verified it. */
  sourceWords(survey: Survey): string {
    const rasters = this.region(survey)?.rasters ?? [];
    const told = rasters.map((one) => {
      const source = scoutWords.source(one.words, one.source, one.dated);
      return one.unverified ? `${source} (${scoutWords.unverified})` : source;
    });
    return told.length === 0 ? "" : scoutWords.bandData(told.join("; "));
  }

  changedWords({ scan, other }: Survey): string {
    if (scan === null || other === null) return scoutWords.found.title;
    const apart = Math.abs(scan.taken_at_utc_us - other.taken_at_utc_us) / 1e6;
    return scoutWords.found.changed(ageWords(apart));
  }

  private draw(scan: Scan | null, other: Scan | null, comparison: ScanComparison | null, old: boolean): void {
    const lines: ScanLines | null = scan === null ? null : linesOf(scan);
    this.scanned = scan === null ? null : scannedBy(scan);
    this.traces = lines === null ? NO_TRACES : tracesOf(lines, other === null ? null : linesOf(other), comparison, old);
  }

  private make(survey: Survey, keptOut: KeptOut, { picture, rows }: ScoutContext): void {
    const { scan, found } = survey;
    const windows = keptOut.plan === null ? [] : requestOf(keptOut.plan.request).window.map(span);
    const facts = {
      blocks: blocksOf(this.region(survey)),
      own: picture === null ? [] : ownCarriers(picture, rows, found?.carriers ?? []),
      windows,
      room: scan === null ? [] : roomOf(scan, found, keptOut.exclusions, windows),
    };
    this.beside = besideOf(facts, found, keptOut.exclusions);
  }
}

/** From the first frequency of a scan to its last, as somebody would ask for it. */
function scannedBy({ start_hz, step_hz, maximum_dbm }: Scan): Span {
  return { fromHz: start_hz, toHz: start_hz + (maximum_dbm.length - 1) * step_hz };
}

function same(one: readonly unknown[], other: readonly unknown[]): boolean {
  return one.length === other.length && one.every((value, index) => value === other[index]);
}
