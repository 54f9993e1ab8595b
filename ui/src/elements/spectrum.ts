import { html, LitElement, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { SpectrumPlot, type SpectrumTraces } from "../plots/spectrum";
import { readSpectrumInk, type SpectrumInk } from "../plots/spectrum_ink";
import { bandAt, type LevelRange, layOut, levelRange, type SpectrumLayout } from "../plots/spectrum_layout";
import type { SpectrumMarks } from "../plots/spectrum_marks";
import { around, hertzAt, moved, zoomed } from "../pure/frequency_view";
import { decimal, megahertz } from "../pure/number_words";
import { type Span, spanOf } from "../pure/spectrum";
import { ontoRaster } from "../pure/stretches";
import { scoutWords } from "../words/scout_words";
import { type SpectrumHand, SpectrumPointer, type Touch } from "./spectrum_pointer";
import { readoutAt } from "./spectrum_readout";
import { spectrumStyles } from "./spectrum_styles";

/** What the spectrum shows beside its levels. */
export type SpectrumBeside = Omit<SpectrumMarks, "painted" | "cursorHz" | "names" | "floorName" | "markName">;

export const NO_TRACES: SpectrumTraces = {
  maximum: null,
  median: null,
  occupancy: null,
  against: null,
  rise: null,
  fall: null,
  old: false,
};
export const NOTHING_BESIDE: SpectrumBeside = {
  blocks: [],
  own: [],
  found: [],
  floor: [],
  thresholdDb: 10,
  keptOut: [],
  windows: [],
  room: [],
};

const ZOOM = 1.35;
const WHEEL_PIXELS = 240;
const STEP = 0.01;
const FAR_STEP = 0.1;
const { picture } = scoutWords;

/**
 * A spectrum over frequency: how strong at the most and half of the time, how often, what changed, where there is room.
 *
 * Wheel, pinch, drag and keys move and zoom it. Dragging in the room, or `e` twice, keeps a stretch out.
 * Events: `redpoll-keep-out` (fromHz, toHz), `redpoll-let-in` (hertz).
 */
@customElement("redpoll-spectrum")
export class RedpollSpectrum extends LitElement implements SpectrumHand {
  static override styles = spectrumStyles;

  @property({ attribute: false }) traces: SpectrumTraces = NO_TRACES;
  @property({ attribute: false }) beside: SpectrumBeside = NOTHING_BESIDE;
  /** The least that is shown, for what is still being measured; without it, what was measured. */
  @property({ attribute: false }) span: Span | null = null;
  @property({ type: Number }) rasterHz = 25_000;
  @property({ type: Boolean }) paintable = false;
  /** How long the last drawing took, in milliseconds. */
  drawnInMs = 0;

  @state() private view: Span | null = null;
  @state() private cursorHz: number | null = null;
  @state() private paintedHz: readonly [number, number] | null = null;
  @state() private over: Touch["layer"] = "picture";
  @query("canvas") private readonly canvas?: HTMLCanvasElement;
  @query(".plot") private readonly box?: HTMLElement;
  private readonly pointer = new SpectrumPointer(this);
  private readonly watcher = new ResizeObserver(() => this.requestUpdate());
  private plot: SpectrumPlot | null = null;
  private ink: SpectrumInk | null = null;
  private layout: SpectrumLayout | null = null;
  private range: LevelRange = { least: -120, most: -40 };

  get mayPaint(): boolean {
    return this.paintable;
  }

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has("traces") || changed.has("beside")) this.range = this.rangeOf(this.traces);
    const whole = this.whole;
    if (this.view === null || whole === null) this.view = whole;
    else this.view = zoomed(this.view, whole, 1, 0.5);
  }

  override render() {
    const near =
      this.view !== null &&
      this.whole !== null &&
      this.view.toHz - this.view.fromHz < this.whole.toHz - this.whole.fromHz;
    const text = this.readout();
    const classes = `plot ${this.over} ${this.pointer.panning ? "panning" : ""}`;
    return html`<div class="head">
        <output class=${this.cursorHz === null ? "rest" : ""}>${text}</output>
        <slot></slot>
        <span class="zoom">
          <button @click=${() => this.zoom(1 / ZOOM)} aria-label=${picture.near} title="${picture.near} (+)">+</button>
          <button @click=${() => this.zoom(ZOOM)} aria-label=${picture.far} title="${picture.far} (−)" ?disabled=${!near}>−</button>
          <button @click=${() => this.showAll()} title="${picture.all} (0)" ?disabled=${!near}>${picture.all}</button>
        </span>
      </div>
      <div class=${classes} tabindex="0" role="slider" aria-label=${picture.label} aria-valuemin="0" aria-valuemax="100"
        aria-valuenow=${Math.round(this.cursorShare * 100)} aria-valuetext=${text}
        @pointerdown=${this.onDown} @pointermove=${this.onMove} @pointerup=${this.onUp} @pointercancel=${this.onCancel}
        @pointerleave=${this.onLeave} @dblclick=${this.onTwice} @keydown=${this.onKey}><canvas></canvas></div>`;
  }

  override firstUpdated() {
    if (this.box === undefined) return;
    this.watcher.observe(this.box);
    // A canvas doesn't wait for the font: what was written before it came is written anew.
    void document.fonts
      .load(`15px ${getComputedStyle(this).getPropertyValue("--font")}`)
      .then(() => this.requestUpdate());
    // Lit's own listeners are passive for the wheel, and the page must not scroll under it.
    this.box.addEventListener("wheel", (event) => this.onWheel(event), { passive: false });
  }

  override updated() {
    this.draw();
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.watcher.disconnect();
  }

  /** Takes the colours of the theme anew. */
  recolour(): void {
    this.ink = null;
    this.requestUpdate();
  }

  /** Looks at a stretch, and reads its middle. */
  show(stretch: Span): void {
    if (this.whole === null) return;
    this.view = around(stretch, this.whole);
    this.cursorHz = (stretch.fromHz + stretch.toHz) / 2;
  }

  showAll(): void {
    this.view = this.whole;
  }

  /** Does what a key means on the picture; says whether the key is used up. */
  press(event: KeyboardEvent): boolean {
    const step = event.shiftKey ? FAR_STEP : STEP;
    switch (event.key) {
      case "ArrowLeft":
      case "ArrowRight":
        this.moveCursor(event.key === "ArrowLeft" ? -step : step);
        return true;
      case "PageUp":
      case "PageDown":
        this.pan(event.key === "PageUp" ? -0.5 : 0.5);
        return true;
      case "+":
      case "=":
      case "-":
        this.zoom(event.key === "-" ? ZOOM : 1 / ZOOM);
        return true;
      case "0":
        this.showAll();
        return true;
      default:
        return this.paintable && this.pressPaint(event.key);
    }
  }

  // ------------------------------------------------------------ what fingers do

  point(x: number): void {
    const view = this.view;
    const { layout } = this;
    if (view === null || layout === null) return;
    this.cursorHz = hertzAt(view, Math.min(Math.max((x - layout.left) / layout.across, 0), 1));
  }

  drag(fromX: number, toX: number): void {
    if (this.layout !== null) this.pan((fromX - toX) / this.layout.across);
  }

  pinch(before: readonly [number, number], after: readonly [number, number]): void {
    const [wide, wider] = [before, after].map(([one, other]) => Math.max(Math.abs(one - other), 8));
    if (this.layout === null || this.view === null || this.whole === null || wide === undefined || wider === undefined)
      return;
    const middle = (after[0] + after[1]) / 2;
    this.drag((before[0] + before[1]) / 2, middle);
    this.view = zoomed(this.view, this.whole, wide / wider, (middle - this.layout.left) / this.layout.across);
  }

  look(x: number): void {
    if (this.layout === null || this.view === null || this.whole === null) return;
    const middle = hertzAt(this.whole, (x - this.layout.left) / this.layout.across);
    const now = hertzAt(this.view, 0.5);
    this.pan((middle - now) / (this.view.toHz - this.view.fromHz));
  }

  paint(fromX: number, toX: number): void {
    const { view, layout } = this;
    if (view === null || layout === null) return;
    const [one, other] = [fromX, toX].map((x) => hertzAt(view, (x - layout.left) / layout.across));
    if (one !== undefined && other !== undefined) this.paintedHz = [one, other];
    this.point(toX);
  }

  painted(): void {
    const stretch = this.paintedStretch;
    this.paintedHz = null;
    if (stretch !== null) this.tell("redpoll-keep-out", stretch);
  }

  dropped(): void {
    this.paintedHz = null;
  }

  // ------------------------------------------------------------

  private get whole(): Span | null {
    const { maximum, against } = this.traces;
    const measured = spanOf([maximum, against].filter((one) => one !== null));
    return this.span ?? measured;
  }

  private get paintedStretch(): Span | null {
    return this.paintedHz === null ? null : ontoRaster(...this.paintedHz, this.rasterHz);
  }

  private get cursorShare(): number {
    if (this.view === null || this.cursorHz === null) return 0;
    return Math.min(Math.max((this.cursorHz - this.view.fromHz) / (this.view.toHz - this.view.fromHz), 0), 1);
  }

  private rangeOf({ maximum, against }: SpectrumTraces): LevelRange {
    return levelRange(
      [maximum, against].flatMap((one) => (one === null ? [] : [one.levels_dbm])),
      this.beside.floor.map((one) => one.floor_dbm),
    );
  }

  private readout(): string {
    const painted = this.paintedStretch;
    if (painted !== null) {
      const wide = decimal((painted.toHz - painted.fromHz) / 1e6, 3);
      return picture.painting(megahertz(painted.fromHz), megahertz(painted.toHz), wide);
    }
    if (this.cursorHz === null) return this.paintable ? picture.point : picture.pointAlone;
    return readoutAt(this.cursorHz, this.traces, this.beside);
  }

  private draw(): void {
    const { canvas, box, view, whole } = this;
    if (canvas === undefined || box === undefined || view === null || whole === null) return;
    const begun = performance.now();
    this.plot ??= new SpectrumPlot(canvas);
    this.ink ??= readSpectrumInk(this);
    this.layout = layOut({
      width: box.clientWidth,
      height: box.clientHeight,
      own: this.beside.own.length > 0,
      often: this.traces.occupancy !== null,
      change: this.traces.against !== null,
      room: this.paintable || this.beside.floor.length > 0,
      coarse: matchMedia("(pointer: coarse)").matches,
    });
    const { range, layout, traces } = this;
    const { names, floorName, markName } = picture;
    const marks = { ...this.beside, painted: this.paintedStretch, cursorHz: this.cursorHz, names, floorName, markName };
    this.plot.draw({ traces, marks, whole, view, range, layout, density: devicePixelRatio }, this.ink);
    this.drawnInMs = performance.now() - begun;
  }

  private zoom(factor: number, share = this.cursorHz === null ? 0.5 : this.cursorShare): void {
    if (this.view !== null && this.whole !== null) this.view = zoomed(this.view, this.whole, factor, share);
  }

  private pan(share: number): void {
    if (this.view !== null && this.whole !== null) this.view = moved(this.view, this.whole, share);
  }

  private moveCursor(by: number): void {
    const { view, whole } = this;
    if (view === null || whole === null) return;
    const share = this.cursorHz === null ? 0.5 : (this.cursorHz - view.fromHz) / (view.toHz - view.fromHz) + by;
    this.cursorHz = Math.min(Math.max(hertzAt(view, share), whole.fromHz), whole.toHz);
    if (share < 0 || share > 1) this.pan(share < 0 ? share : share - 1);
    if (this.paintedHz !== null) this.paintedHz = [this.paintedHz[0], this.cursorHz];
  }

  private pressPaint(key: string): boolean {
    const hertz = this.cursorHz;
    if (key === "Escape" && this.paintedHz !== null) this.paintedHz = null;
    else if ((key === "e" || key === "Enter") && this.paintedHz !== null) this.painted();
    else if (key === "e" && hertz !== null) this.paintedHz = [hertz, hertz];
    else if (key === "Delete" && hertz !== null) this.tell("redpoll-let-in", { hertz });
    else return false;
    return true;
  }

  private onKey(event: KeyboardEvent): void {
    if (event.ctrlKey || event.altKey || event.metaKey || !this.press(event)) return;
    event.preventDefault();
    event.stopPropagation();
  }

  private onDown(event: PointerEvent): void {
    if (event.button !== 0) return;
    this.box?.setPointerCapture(event.pointerId);
    this.pointer.press(this.touchOf(event));
    this.requestUpdate();
  }

  private onMove(event: PointerEvent): void {
    const touch = this.touchOf(event);
    this.over = touch.layer;
    this.pointer.move(touch);
  }

  private onUp(event: PointerEvent): void {
    this.pointer.release(event.pointerId);
    this.requestUpdate();
  }

  private onCancel(event: PointerEvent): void {
    this.pointer.drop(event.pointerId);
  }

  private onLeave(): void {
    if (!this.pointer.panning && this.paintedHz === null) this.cursorHz = null;
  }

  private onTwice(event: MouseEvent): void {
    this.zoom(1 / (ZOOM * ZOOM * ZOOM), this.shareUnder(event));
  }

  private onWheel(event: WheelEvent): void {
    event.preventDefault();
    if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      this.pan((event.deltaX || event.deltaY) / (this.layout?.across ?? 1));
      return;
    }
    this.zoom(2 ** (event.deltaY / WHEEL_PIXELS), this.shareUnder(event));
  }

  private shareUnder(event: MouseEvent): number {
    const { layout, box } = this;
    if (layout === null || box === undefined) return 0.5;
    const x = event.clientX - box.getBoundingClientRect().left;
    return Math.min(Math.max((x - layout.left) / layout.across, 0), 1);
  }

  private touchOf(event: PointerEvent): Touch {
    const box = this.box?.getBoundingClientRect();
    const [x, y] = [event.clientX - (box?.left ?? 0), event.clientY - (box?.top ?? 0)];
    return { id: event.pointerId, x, layer: this.layout === null ? "picture" : bandAt(this.layout, y) };
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}
