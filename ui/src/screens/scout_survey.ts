import type { ReactiveController, ReactiveControllerHost } from "lit";
import { readComparison, readFound, readRegions, readSurvey, readSurveys } from "../data/surveys";
import type { Region, Scan, ScanComparison, ScanFacts, ScanFound } from "../protocol/model";
import { requestProblem } from "./acts";

const READ_AGAIN_MS = 15_000;
/** The region that somebody chose stays chosen in this browser. */
const REGION_KEPT = "redpoll-region";
/** Before anybody chose: where the demonstration plays. */
const REGION_AT_FIRST = "region-1";

/** The kept scans: which is looked at, which is held against it, and what the console found in them. */
export class Survey implements ReactiveController {
  list: readonly ScanFacts[] = [];
  regions: readonly Region[] = [];
  /** Whether the list was read at all, and why it can't be read, or empty. */
  read = false;
  problem = "";
  chosen = "";
  held = "";
  region = "";
  scan: Scan | null = null;
  other: Scan | null = null;
  found: ScanFound | null = null;
  foundProblem = "";
  comparison: ScanComparison | null = null;
  private timer: ReturnType<typeof setInterval> | undefined;
  private asked = 0;

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {
    void this.readRegions().then(() => this.readList());
    this.timer = setInterval(() => void this.readList(), READ_AGAIN_MS);
  }

  hostDisconnected(): void {
    clearInterval(this.timer);
  }

  /** What is known of a scan without its levels. */
  facts(scanId: string): ScanFacts | null {
    return this.list.find((one) => one.scan_id === scanId) ?? null;
  }

  /** Reads the list anew, and looks at the latest where nothing is looked at. */
  async readList(): Promise<void> {
    const answer = await readSurveys();
    this.problem = requestProblem(answer);
    if (answer.ok) {
      this.list = [...answer.value.items].sort((one, other) => other.taken_at_utc_us - one.taken_at_utc_us);
      this.read = true;
    }
    const latest = this.list[0];
    if (this.facts(this.chosen) === null && latest !== undefined) this.choose(latest.scan_id);
    this.host.requestUpdate();
  }

  choose(scanId: string): void {
    this.chosen = scanId;
    if (this.held === scanId) this.held = "";
    void this.readAll();
  }

  /** Moves the look so many scans down the list. */
  move(by: number): void {
    const at = this.list.findIndex((one) => one.scan_id === this.chosen);
    const next = this.list[Math.min(Math.max(at + by, 0), this.list.length - 1)];
    if (next !== undefined && next.scan_id !== this.chosen) this.choose(next.scan_id);
  }

  /** Holds a scan against the one that is looked at; the same again lets it go. */
  hold(scanId: string): void {
    this.held = this.held === scanId ? "" : scanId;
    void this.readAll();
  }

  /** Holds the scan taken before, or else the one after, against what is looked at; or lets go what is held. */
  holdBefore(): void {
    const at = this.list.findIndex((one) => one.scan_id === this.chosen);
    const before = this.list[at + 1] ?? this.list[at - 1];
    if (this.held !== "") this.hold(this.held);
    else if (before !== undefined) this.hold(before.scan_id);
  }

  setRegion(name: string): void {
    this.region = name;
    localStorage.setItem(REGION_KEPT, name);
    void this.readAll();
  }

  /** Reads what is looked at. What was answered late never replaces what was asked for since. */
  private async readAll(): Promise<void> {
    this.asked += 1;
    const asked = this.asked;
    const [chosen, held] = [this.chosen, this.held];
    const kept = this.scan?.scan_id === chosen;
    if (!kept) [this.scan, this.found] = [null, null];
    if (this.other?.scan_id !== held) this.other = null;
    this.comparison = null;
    this.host.requestUpdate();
    const [scan, found, other, comparison] = await Promise.all([
      kept ? null : readSurvey(chosen),
      readFound(chosen, this.region),
      held === "" || this.other !== null ? null : readSurvey(held),
      held === "" ? null : readComparison(chosen, held),
    ]);
    if (asked !== this.asked) return;
    if (scan?.ok) this.scan = scan.value;
    if (other?.ok) this.other = other.value;
    this.found = found.ok ? found.value : null;
    this.foundProblem = requestProblem(found);
    this.comparison = comparison?.ok ? comparison.value : null;
    this.host.requestUpdate();
  }

  private async readRegions(): Promise<void> {
    const answer = await readRegions();
    if (!answer.ok) return;
    this.regions = answer.value.items;
    const known = (name: string) => this.regions.some((one) => one.name === name);
    this.region = [localStorage.getItem(REGION_KEPT) ?? "", REGION_AT_FIRST].find(known) ?? this.regions[0]?.name ?? "";
    this.host.requestUpdate();
  }
}
