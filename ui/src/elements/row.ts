import { html, LitElement } from "lit";
import { customElement, property, query } from "lit/decorators.js";
import { Quality } from "../protocol/quality";
import { ageWords, clockWords, whole } from "../pure/number_words";
import { HeldPeak } from "../pure/peak";
import { isGood } from "../pure/reading";
import type { LiveBranch, LiveRow, RowFacts } from "../pure/row";
import { words } from "../words/english";
import { silenceWords, verdictOf } from "../words/verdict";
import type { RedpollLife } from "./life";
import "./life";
import "./mark";
import { rowStyles } from "./row_styles";

const LEAST_DBM = -110;
const MOST_DBM = -30;
/** What the peak's scale spans: dBFS, or dBu at an analog output with full scale at +18 dBu (EBU R 68). */
const DIGITAL_SCALE = { least: -60, most: 0 };
const ANALOG_SCALE = { least: -42, most: 18 };
const CLIP_SHARE = 0.9;

/** One channel: who, how well, how long. Meters are moved by hand at display rate, words at most four times a second. */
@customElement("redpoll-row")
export class RedpollRow extends LitElement {
  static override styles = rowStyles;

  @property({ attribute: false }) facts: RowFacts | null = null;
  /** The priority of the matter that touches this row alone, 0 for none. */
  @property({ type: Number }) priority = 0;
  @property({ type: Boolean }) acknowledged = false;
  /** The minutes that the evening still needs of the row's cells; NaN where nothing says so. */
  @property({ attribute: false }) needed = Number.NaN;
  /** The words of that matter, empty for none. */
  @property() trouble = "";

  @query(".branches", true) private readonly branchesCell?: HTMLElement;
  @query(".tick", true) private readonly tick?: HTMLElement;
  @query(".clip", true) private readonly clip?: HTMLElement;
  @query("redpoll-life", true) private readonly life?: RedpollLife;
  private readonly held = new HeldPeak();
  /** What the cells say and are called, so that the page is only touched where something changed. */
  private readonly saidWords = new Map<string, string>();
  private readonly labels = new Map<string, string>();

  override render() {
    return html`<span class="tint"></span>
      <span class="mark" role="gridcell">
        <redpoll-mark .priority=${this.priority} ?hollow=${this.acknowledged}></redpoll-mark>
      </span>
      <span class="number" role="gridcell">${this.facts?.number ?? ""}</span>
      <span class="part" role="rowheader">${this.facts?.part ?? ""}</span>
      <span class="branches" role="gridcell"></span>
      <span class="level" role="gridcell"></span>
      <span class="peak" role="gridcell" aria-label=""><span class="scale">
        <i class="clip"></i><i class="tick" hidden></i>
      </span></span>
      <span class="said" role="gridcell"></span>
      <span class="life" role="gridcell"><redpoll-life></redpoll-life></span>
      <span class="verdict" role="gridcell"></span>
      <span class="strand" role="gridcell"><span class="over"></span></span>`;
  }

  override updated() {
    this.toggleAttribute("spare", this.facts?.spare ?? false);
    if (this.priority > 0) this.setAttribute("tint", `${this.priority}`);
    else this.removeAttribute("tint");
  }

  /** Where the row's strand stands on the page. */
  strandBox(): DOMRect {
    return this.renderRoot.querySelector(".strand")?.getBoundingClientRect() ?? new DOMRect();
  }

  /** Moves the meters to what the row is at `at` seconds. */
  showMeters(live: LiveRow, at: number): void {
    this.moveBranches(live.branches);
    const scale = live.analog ? ANALOG_SCALE : DIGITAL_SCALE;
    this.held.take(at, isGood(live.peak) ? live.peak.value : Number.NaN);
    const share = (this.held.shownAt(at) - scale.least) / (scale.most - scale.least);
    if (this.tick === undefined || this.clip === undefined) return;
    this.tick.hidden = Number.isNaN(share);
    this.tick.style.transform = `translateX(${Math.min(Math.max(share, 0), 1) * 100}%)`;
    this.clip.classList.toggle("hit", share >= CLIP_SHARE);
  }

  /** Says in words what the row is. */
  showWords(live: LiveRow): void {
    const quiet = live.state !== "on air" && live.state !== "spare";
    this.toggleAttribute("quietly", quiet);
    this.say(".level", quiet ? "" : levelWords(live));
    this.say(".said", quiet ? saidWords(live) : "");
    this.say(".over", quiet ? overWords(live) : silenceWords(live));
    this.say(".verdict", verdictOf(live, this.trouble));
    this.label(".level", !quiet && isGood(live.better) ? `${whole(live.better.value)} dBm` : "");
    this.label(".branches", quiet ? "" : branchesWords(live.branches));
    this.label(".peak", quiet || !isGood(live.peak) ? "" : `${whole(live.peak.value)} ${live.analog ? "dBu" : "dBFS"}`);
    if (this.life === undefined) return;
    this.life.minutes = live.minutes;
    this.life.fraction = live.fraction;
    this.life.needed = this.needed;
  }

  private say(selector: string, text: string): void {
    if (this.saidWords.get(selector) === text) return;
    const cell = this.renderRoot.querySelector(selector);
    if (cell === null) return;
    cell.textContent = text;
    this.saidWords.set(selector, text);
  }

  private label(selector: string, text: string): void {
    if (this.labels.get(selector) === text) return;
    const cell = this.renderRoot.querySelector(selector);
    if (cell === null) return;
    if (text === "") cell.removeAttribute("aria-label");
    else cell.setAttribute("aria-label", text);
    this.labels.set(selector, text);
  }

  private moveBranches(branches: readonly LiveBranch[]): void {
    const cell = this.branchesCell;
    if (cell === undefined) return;
    while (cell.childElementCount < branches.length) cell.append(newBar());
    while (cell.childElementCount > branches.length) cell.lastElementChild?.remove();
    for (const [index, branch] of branches.entries()) {
      const bar = cell.children[index] as HTMLElement;
      const good = isGood(branch.level);
      bar.classList.toggle("deaf", branch.deaf);
      bar.classList.toggle("none", !good);
      const share = good ? (branch.level.value - LEAST_DBM) / (MOST_DBM - LEAST_DBM) : 0;
      (bar.firstElementChild as HTMLElement).style.transform = `scaleX(${Math.min(Math.max(share, 0), 1)})`;
    }
  }
}

function newBar(): HTMLElement {
  const bar = document.createElement("span");
  bar.className = "branch";
  bar.append(document.createElement("i"));
  return bar;
}

function levelWords(live: LiveRow): string {
  if (isGood(live.better)) return whole(live.better.value);
  return live.better.quality === Quality.Uncertain ? ageWords(live.better.ageS) : "";
}

function branchesWords(branches: readonly LiveBranch[]): string {
  return branches
    .map(
      ({ label, level, deaf }) =>
        `${label} ${deaf ? words.deaf : isGood(level) ? `${whole(level.value)} dBm` : words.state.unknown}`,
    )
    .join(", ");
}

function saidWords(live: LiveRow): string {
  if (live.state === "no report" && live.lastSeenUtcUs !== null) return words.lastSeen(clockWords(live.lastSeenUtcUs));
  if (live.state === "unknown") return unknownWords(live);
  return words.state[live.state];
}

function unknownWords(live: LiveRow): string {
  return Number.isFinite(live.valueAgeS) ? words.lastValue(ageWords(live.valueAgeS)) : words.neverReported;
}

function overWords(live: LiveRow): string {
  if (live.state === "no report") return words.noReportFor(ageWords(live.silentS));
  return live.state === "unknown" ? "" : words.state[live.state];
}
