import { html, LitElement, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { type LanesFacts, type Maker, paintLanes } from "../plots/lanes";
import { type LanesInk, readLanesInk } from "../plots/lanes_ink";
import type { LitProducts } from "../plots/products";
import { around, hertzAt, moved, shareOf, zoomed } from "../pure/frequency_view";
import { type LaneLayout, laneLayout, type Stretched } from "../pure/lane_layout";
import { across, beside, nearestIn } from "../pure/lane_pick";
import type { Span } from "../pure/spectrum";
import { chartWords } from "../words/chart_words";
import { LaneTouch } from "./lane_touch";
import { lanesStyles } from "./lanes_styles";

/** How near in pixels the pointer must be to a mast. */
const REACH = 22;
const CLOSER = 0.6;
const STEP = 0.2;

/** What a lane says beside its name. */
export type LaneWords = Readonly<Record<string, string>>;

/**
 * A plan as a picture: a lane a zone, carriers as masts on their spacing, the products hanging below the axis.
 *
 * Event: `redpoll-lane-pick` with the index of a mast, or −1.
 */
@customElement("redpoll-lanes")
export class RedpollLanes extends LitElement {
  static override styles = lanesStyles;

  @property({ attribute: false }) facts: LanesFacts | null = null;
  @property({ attribute: false }) laneWords: LaneWords = {};
  /** All of the axis. */
  @property({ attribute: false }) span: Span = { fromHz: 470e6, toHz: 694e6 };
  @property({ type: Number }) picked = -1;
  @property({ attribute: false }) lit: LitProducts | null = null;
  @property({ attribute: false }) makers: readonly Maker[] = [];
  @property({ attribute: false }) productHz: number | null = null;
  /** What is shown, for those who can't see it. */
  @property() description = "";
  @state() private layout: LaneLayout = laneLayout(400, 1);
  @query("canvas") private readonly canvas?: HTMLCanvasElement;
  @query(".scroller") private readonly scroller?: HTMLElement;
  @query(".plot") private readonly plot?: HTMLElement;
  @query(".thumb") private readonly thumb?: HTMLElement;
  private view: Span = this.span;
  private ink: LanesInk | null = null;
  private width = 0;
  private request = 0;
  private readonly touch = new LaneTouch({
    move: (share) => this.move(share),
    zoom: (factor, share) => this.zoom(factor, share),
    press: (x, y) => this.pickAt(x, y),
  });
  private readonly watcher = new ResizeObserver(() => this.measure());

  override render() {
    const { layout } = this;
    const zones = this.facts?.zones ?? [];
    return html`<div class="scroller"><div class="content">
        <div class="names">
          ${zones.map((zone, index) => renderName(zone, this.laneWords[zone] ?? "", layout.lanes[index]))}
          <div class="name unit" .style=${styleOf(layout.axis)}>${chartWords.megahertz}</div>
          <div class="name order" .style=${styleOf(layout.third)}>${chartWords.third}</div>
          <div class="name order" .style=${styleOf(layout.fifth)}>${chartWords.fifth}</div>
        </div>
        <div class="plot" tabindex="0" role="application" aria-label=${chartWords.lanes} aria-describedby="help"
          @wheel=${this.onWheel} @pointerdown=${this.touch.down} @pointermove=${this.touch.moved}
          @pointerup=${this.touch.up} @pointercancel=${this.touch.cancel}>
          <canvas role="img" aria-label=${this.description}></canvas>
        </div>
      </div></div>
      <div class="view">
        <span id="help" hidden>${chartWords.lanesHelp}</span>
        <button aria-label=${chartWords.zoomOut} @click=${() => this.closer(false)}>−</button>
        <button aria-label=${chartWords.zoomIn} @click=${() => this.closer(true)}>+</button>
        <div class="track" role="presentation" @pointerdown=${this.onTrack} @pointermove=${this.onTrack}><i class="thumb"></i></div>
        <button @click=${this.whole}>${chartWords.whole}</button>
      </div>`;
  }

  override firstUpdated() {
    if (this.scroller !== undefined) this.watcher.observe(this.scroller);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.watcher.disconnect();
    cancelAnimationFrame(this.request);
  }

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has("span")) this.view = this.span;
  }

  override updated(changed: PropertyValues<this>) {
    if (changed.has("facts")) this.measure();
    this.paintSoon();
  }

  /** Takes the colours of the theme anew. */
  recolour(): void {
    this.ink = null;
    this.paintSoon();
  }

  /** Looks closer, or from further away, at the picked carrier or the middle. */
  closer(near: boolean): void {
    const mast = this.facts?.masts[this.picked];
    const share = mast === undefined ? 0.5 : shareOf(this.view, mast.frequencyHz);
    this.zoom(near ? CLOSER : 1 / CLOSER, share >= 0 && share <= 1 ? share : 0.5);
  }

  /** Moves the view by a fifth of itself, up or down in frequency. */
  step(up: boolean): void {
    this.move(up ? STEP : -STEP);
  }

  whole(): void {
    this.look(this.span);
  }

  /** Picks the carrier beside the picked one on the axis, or in the lane beside. */
  pickBeside(way: "left" | "right" | "up" | "down"): void {
    const { masts, zones } = this.facts ?? { masts: [], zones: [] };
    const by = way === "right" || way === "down" ? 1 : -1;
    const sideways = way === "left" || way === "right";
    this.pick(sideways ? beside(masts, this.picked, by) : across(masts, zones, this.picked, by));
  }

  private pick(index: number): void {
    const mast = this.facts?.masts[index];
    if (mast !== undefined) this.reveal(mast.frequencyHz);
    this.dispatchEvent(new CustomEvent("redpoll-lane-pick", { detail: index, bubbles: true, composed: true }));
  }

  private reveal(hertz: number): void {
    const share = shareOf(this.view, hertz);
    if (share >= 0 && share <= 1) return;
    const half = (this.view.toHz - this.view.fromHz) / 6;
    this.look(around({ fromHz: hertz - half, toHz: hertz + half }, this.span));
  }

  private move(share: number): void {
    this.look(moved(this.view, this.span, share));
  }

  private zoom(factor: number, share: number): void {
    this.look(zoomed(this.view, this.span, factor, share));
  }

  private look(view: Span): void {
    this.view = view;
    this.paintSoon();
  }

  private pickAt(x: number, y: number): void {
    const box = this.plot?.getBoundingClientRect();
    if (box === undefined || this.facts === null) return;
    const lane = this.layout.lanes.findIndex(({ top, height }) => y - box.top >= top && y - box.top < top + height);
    const hertz = hertzAt(this.view, (x - box.left) / box.width);
    const within = (REACH / box.width) * (this.view.toHz - this.view.fromHz);
    this.pick(nearestIn(this.facts.masts, this.facts.zones[lane] ?? "", hertz, within));
  }

  private onWheel(event: WheelEvent): void {
    const box = this.plot?.getBoundingClientRect();
    if (box === undefined) return;
    event.preventDefault();
    const sideways = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
    if (Math.abs(sideways) > Math.abs(event.deltaY) || event.shiftKey) this.move(sideways / box.width);
    else this.zoom(1.0018 ** event.deltaY, (event.clientX - box.left) / box.width);
  }

  private onTrack(event: PointerEvent): void {
    if (event.buttons !== 1) return;
    const track = event.currentTarget as HTMLElement;
    track.setPointerCapture(event.pointerId);
    const box = track.getBoundingClientRect();
    const width = this.view.toHz - this.view.fromHz;
    const centre = hertzAt(this.span, (event.clientX - box.left) / box.width);
    this.move((centre - width / 2 - this.view.fromHz) / width);
  }

  private measure(): void {
    if (this.scroller === undefined || this.plot === undefined || this.canvas === undefined) return;
    const layout = laneLayout(this.scroller.clientHeight, this.facts?.zones.length ?? 0);
    if (layout.height !== this.layout.height || layout.lanes.length !== this.layout.lanes.length) this.layout = layout;
    this.width = this.plot.clientWidth;
    this.canvas.width = Math.max(Math.round(this.width * devicePixelRatio), 1);
    this.canvas.height = Math.round(layout.height * devicePixelRatio);
    this.canvas.style.height = `${layout.height}px`;
    this.paintSoon();
  }

  private paintSoon(): void {
    if (this.request !== 0) return;
    this.request = requestAnimationFrame(() => {
      this.request = 0;
      this.paint();
    });
  }

  private paint(): void {
    const context = this.canvas?.getContext("2d") ?? null;
    if (context === null || this.facts === null || this.width === 0) return;
    this.ink ??= readLanesInk(this);
    context.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    const { view, width, layout, picked, lit, makers, productHz } = this;
    paintLanes(context, this.facts, { view, width, layout, picked, lit, makers, productHz }, this.ink);
    this.placeThumb();
  }

  private placeThumb(): void {
    if (this.thumb === undefined) return;
    const [from, to] = [shareOf(this.span, this.view.fromHz), shareOf(this.span, this.view.toHz)];
    this.thumb.style.left = `${from * 100}%`;
    this.thumb.style.width = `${Math.max(to - from, 0.01) * 100}%`;
  }
}

const LOW_LANE = 44;

function renderName(zone: string, words: string, lane: Stretched | undefined) {
  if (lane === undefined) return html``;
  return html`<div class="name ${lane.height < LOW_LANE ? "low" : ""}" .style=${styleOf(lane)}><b title=${zone}>${zone}</b><span>${words}</span></div>`;
}

function styleOf({ top, height }: Stretched): string {
  return `top: ${top}px; height: ${height}px`;
}
