import { css, html, LitElement } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { HistoryPlot } from "../plots/history";
import { readInk } from "../plots/strand_ink";
import type { Column } from "../plots/strand_sample";
import type { Bins } from "../pure/bins";
import { clockWords, whole } from "../pure/number_words";
import { words } from "../words/english";

const SPANS_S = { minute: 60, ten: 600, hour: 3600 } as const;
type Span = keyof typeof SPANS_S;
const DRAW_INTERVAL_MS = 100;
const CURSOR_STEP = 0.01;

/** A row's past on a linear axis, with a cursor that reads a moment. */
@customElement("redpoll-history")
export class RedpollHistory extends LitElement {
  static override styles = css`
    :host { display: grid; gap: 6px; min-width: 0; }
    .spans { display: flex; align-items: center; gap: 6px; min-width: 0; }
    .read { margin-left: auto; overflow: hidden; text-overflow: ellipsis; white-space: nowrap; color: var(--text); }
    button { font: inherit; color: var(--text-soft); background: none; border: 1px solid var(--edge); padding: 2px 10px; min-height: 30px; white-space: nowrap; cursor: pointer; }
    button[aria-pressed="true"] { color: var(--ground); background: var(--text); border-color: var(--text); }
    .plot { position: relative; height: 132px; touch-action: pan-y; cursor: crosshair; }
    canvas { position: absolute; inset: 0; width: 100%; height: 100%; }
    .cursor { position: absolute; top: 0; bottom: 0; left: 0; width: 100%; pointer-events: none; border-left: 1px solid var(--text); }
    .cursor[hidden] { display: none; }
    .ends { display: flex; justify-content: space-between; color: var(--text-soft); }
    :is(button, .plot):focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
    @media (max-width: 760px), (pointer: coarse) { button { min-height: 44px; } .spans { flex-wrap: wrap; } .read { white-space: normal; margin: 0; width: 100%; } }
  `;

  @property({ attribute: false }) bins: Bins | null = null;
  /** The present in the seconds of the bins. */
  @property({ attribute: false }) now: () => number = () => 0;
  /** UTC microseconds of a moment in the seconds of the bins. */
  @property({ attribute: false }) utc: (seconds: number) => number = () => 0;

  @state() private span: Span = "ten";
  @state() private read: string = words.detail.cursor;
  @query("canvas") private readonly canvas?: HTMLCanvasElement;
  @query(".plot") private readonly plotBox?: HTMLElement;
  @query(".cursor") private readonly cursor?: HTMLElement;
  private plot: HistoryPlot | null = null;
  private share = 1;
  private reading = false;
  private request = 0;
  private drawnMs = Number.NEGATIVE_INFINITY;

  override render() {
    const spans = Object.keys(SPANS_S) as Span[];
    return html`<div class="spans">
        ${spans.map((span) => html`<button aria-pressed=${span === this.span} @click=${() => this.setSpan(span)}>${words.detail.spans[span]}</button>`)}
        <output class="read">${this.read}</output>
      </div>
      <div class="plot" tabindex="0" role="slider" aria-label=${words.detail.history} aria-valuemin="0" aria-valuemax="100"
        aria-valuenow=${Math.round(this.share * 100)} aria-valuetext=${this.read}
        @pointermove=${this.onPointer} @pointerdown=${this.onPointer} @keydown=${this.onKey}>
        <canvas></canvas><i class="cursor" hidden></i>
      </div>
      <div class="ends"><span>${words.detail.spans[this.span]} ${words.ago}</span><span>${words.now}</span></div>`;
  }

  override connectedCallback() {
    super.connectedCallback();
    const step = (frameMs: number) => {
      if (frameMs - this.drawnMs >= DRAW_INTERVAL_MS) {
        this.drawnMs = frameMs;
        this.draw();
      }
      this.request = requestAnimationFrame(step);
    };
    this.request = requestAnimationFrame(step);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    cancelAnimationFrame(this.request);
  }

  private draw(): void {
    if (this.canvas === undefined || this.plotBox === undefined || this.bins === null) return;
    this.plot ??= new HistoryPlot(this.canvas);
    const { clientWidth, clientHeight } = this.plotBox;
    if (clientWidth === 0) return;
    const size = { width: clientWidth, height: clientHeight, span: SPANS_S[this.span] };
    this.plot.draw(this.bins, readInk(this), this.now(), size);
    if (this.reading) this.readMoment();
  }

  private setSpan(span: Span): void {
    this.span = span;
  }

  private onPointer(event: PointerEvent): void {
    const box = this.plotBox?.getBoundingClientRect();
    if (box !== undefined) this.moveCursor((event.clientX - box.left) / box.width);
  }

  private onKey(event: KeyboardEvent): void {
    const step = { ArrowLeft: -CURSOR_STEP, ArrowRight: CURSOR_STEP }[event.key];
    if (step === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    this.moveCursor(this.share + step);
  }

  private moveCursor(share: number): void {
    this.share = Math.min(Math.max(share, 0), 1);
    this.reading = true;
    if (this.cursor === undefined) return;
    this.cursor.hidden = false;
    this.cursor.style.transform = `translateX(${this.share * 100}%)`;
    this.readMoment();
  }

  private readMoment(): void {
    if (this.plot === null || this.bins === null) return;
    const { at, column } = this.plot.at(this.bins, this.share, this.now());
    this.read = momentWords(clockWords(this.utc(at)), column);
  }
}

function momentWords(clock: string, column: Column): string {
  if (!column.reported) return `${clock} · ${words.detail.notReported}`;
  const parts = [clock];
  if (!Number.isNaN(column.median)) parts.push(words.detail.levels(whole(column.median), whole(column.worst)));
  if (column.damage > 0) parts.push(words.detail.damage(whole(column.damage * 100)));
  if (column.speech > 0) parts.push(words.detail.speech);
  return parts.join(" · ");
}
