import { shareOf, ticksOf } from "../pure/frequency_view";
import { type Span, type Stretch, takeGreatest } from "../pure/spectrum";
import type { SpectrumInk } from "./spectrum_ink";
import { fillColumns, hatch, levelY, strokeColumns, textWithin } from "./spectrum_layers";
import type { LevelRange, SpectrumLayout } from "./spectrum_layout";
import { paintMarks, type SpectrumMarks } from "./spectrum_marks";

/** The levels that are drawn: of the scan that is looked at, and of the one held against it. */
export interface SpectrumTraces {
  readonly maximum: Stretch | null;
  /** Null where there was one sweep only. */
  readonly median: Stretch | null;
  /** The share of sweeps in which there was something, 0 to 1. */
  readonly occupancy: Stretch | null;
  readonly against: Stretch | null;
  /** By how much it is more now, and by how much it was more then; both are null where nothing is held against. */
  readonly rise: Stretch | null;
  readonly fall: Stretch | null;
  /** Whether the scan is too old to be taken for the present. */
  readonly old: boolean;
}

/** Everything that one drawing needs. */
export interface SpectrumDrawing {
  readonly traces: SpectrumTraces;
  readonly marks: SpectrumMarks;
  readonly whole: Span;
  readonly view: Span;
  readonly range: LevelRange;
  readonly layout: SpectrumLayout;
  readonly density: number;
}

const GRID_DB = 20;
const SMALL = 15;
/** Differences are drawn up to so much; a change of CHANGED_DB and more stands out (common practice). */
const CHANGE_MOST_DB = 40;
const CHANGED_DB = 10;

/** Draws a spectrum on a canvas: as many columns as the screen has pixels, each with the greatest level within it. */
export class SpectrumPlot {
  private readonly context: CanvasRenderingContext2D;
  private columns = new Float32Array(0);
  private others = new Float32Array(0);

  constructor(private readonly canvas: HTMLCanvasElement) {
    const context = canvas.getContext("2d");
    if (context === null) throw new Error("this browser gives no canvas to draw on");
    this.context = context;
  }

  draw(drawing: SpectrumDrawing, ink: SpectrumInk): void {
    const { layout, density } = drawing;
    this.resize(layout, density);
    const { context } = this;
    context.setTransform(density, 0, 0, density, 0, 0);
    context.font = `${SMALL}px ${ink.font}`;
    context.textBaseline = "middle";
    context.fillStyle = ink.ground;
    context.fillRect(0, 0, layout.width, layout.height);
    this.paintGrounds(drawing, ink);
    this.paintLevels(drawing, ink);
    this.paintOften(drawing, ink);
    this.paintChange(drawing, ink);
    this.paintWhole(drawing, ink);
    this.paintAxis(drawing, ink);
    paintMarks(context, drawing, ink);
  }

  private resize(layout: SpectrumLayout, density: number): void {
    const across = Math.max(Math.round(layout.width * density), 1);
    const down = Math.max(Math.round(layout.height * density), 1);
    if (this.canvas.width !== across) this.canvas.width = across;
    if (this.canvas.height !== down) this.canvas.height = down;
    const columns = Math.max(Math.round(layout.across * density), 1);
    if (this.columns.length === columns) return;
    this.columns = new Float32Array(columns);
    this.others = new Float32Array(columns);
  }

  private read(stretch: Stretch, span: Span, into = this.columns): Float32Array {
    into.fill(Number.NaN);
    takeGreatest(into, stretch, span);
    return into;
  }

  private paintGrounds({ layout, range }: SpectrumDrawing, ink: SpectrumInk): void {
    const { context } = this;
    const { left, across, levels } = layout;
    context.fillStyle = ink.sunken;
    for (const band of [levels, layout.often, layout.change, layout.whole]) {
      if (band.height > 0) context.fillRect(left, band.top, across, band.height - (band === levels ? 0 : 2));
    }
    context.fillStyle = ink.rule;
    for (let level = Math.ceil(range.least / GRID_DB) * GRID_DB; level < range.most; level += GRID_DB) {
      if (level > range.least) context.fillRect(left, Math.round(levelY(levels, range, level)), across, 1);
    }
  }

  private paintLevels({ traces, view, range, layout }: SpectrumDrawing, ink: SpectrumInk): void {
    const { context } = this;
    const base = layout.levels.top + layout.levels.height;
    const y = (level: number) => levelY(layout.levels, range, level);
    context.lineWidth = 1;
    if (traces.maximum !== null) {
      const columns = this.read(traces.maximum, view);
      context.fillStyle = traces.median === null ? ink.steady : ink.once;
      context.globalAlpha = traces.median === null ? 0.62 : 1;
      fillColumns(context, columns, layout, base, y);
      context.globalAlpha = 1;
      if (traces.median !== null) {
        context.fillStyle = ink.steady;
        fillColumns(context, this.read(traces.median, view, this.others), layout, base, y);
      }
      if (traces.old) this.hatchUnder(columns, layout, base, y, ink);
      context.strokeStyle = ink.line;
      strokeColumns(context, columns, layout, y);
    }
    if (traces.against === null) return;
    context.strokeStyle = ink.soft;
    context.setLineDash([4, 3]);
    strokeColumns(context, this.read(traces.against, view, this.others), layout, y);
    context.setLineDash([]);
  }

  /** What is old isn't solid any more: the ground shows through in slanting lines. */
  private hatchUnder(
    columns: Float32Array,
    layout: SpectrumLayout,
    base: number,
    y: (level: number) => number,
    ink: SpectrumInk,
  ): void {
    const { context } = this;
    context.save();
    const wide = layout.across / columns.length;
    context.beginPath();
    for (let column = 0; column < columns.length; column += 1) {
      const level = columns[column] ?? Number.NaN;
      if (!Number.isNaN(level)) context.rect(layout.left + column * wide, y(level), wide, base - y(level));
    }
    context.clip();
    context.strokeStyle = ink.sunken;
    context.lineWidth = 2.4;
    hatch(context, layout.left, layout.levels.top, layout.across, layout.levels.height, -1);
    context.restore();
  }

  private paintOften({ traces, view, layout }: SpectrumDrawing, ink: SpectrumInk): void {
    const band = layout.often;
    if (band.height === 0 || traces.occupancy === null) return;
    const tall = band.height - 4;
    this.context.fillStyle = ink.often;
    const y = (share: number) => band.top + share * tall;
    fillColumns(this.context, this.read(traces.occupancy, view), layout, band.top, y);
    this.context.fillStyle = ink.rule;
    this.context.fillRect(layout.left, band.top, layout.across, 1);
  }

  private paintChange({ traces, view, layout }: SpectrumDrawing, ink: SpectrumInk): void {
    const band = layout.change;
    if (band.height === 0) return;
    const middle = band.top + band.height / 2;
    for (const [stretch, way] of [
      [traces.rise, -1],
      [traces.fall, 1],
    ] as const) {
      if (stretch === null) continue;
      const columns = this.read(stretch, view);
      for (const strong of [false, true]) this.paintWay(columns, { layout, middle, way, strong }, ink);
    }
    this.context.fillStyle = ink.edge;
    this.context.fillRect(layout.left, Math.round(middle), layout.across, 1);
  }

  /** One half of the changes: those that stand out are bright, the others are there for who looks closely. */
  private paintWay(
    columns: Float32Array,
    { layout, middle, way, strong }: { layout: SpectrumLayout; middle: number; way: 1 | -1; strong: boolean },
    ink: SpectrumInk,
  ): void {
    const wide = layout.across / columns.length;
    const most = layout.change.height / 2 - 3;
    this.context.fillStyle = strong ? ink.line : ink.once;
    for (let column = 0; column < columns.length; column += 1) {
      const change = columns[column] ?? Number.NaN;
      if (!(change > 0) || change >= CHANGED_DB !== strong) continue;
      const tall = (Math.min(change, CHANGE_MOST_DB) / CHANGE_MOST_DB) * most;
      this.context.fillRect(layout.left + column * wide, way < 0 ? middle - tall : middle, wide, tall);
    }
  }

  /** The whole scan, small, with a frame around what is in view. */
  private paintWhole({ traces, view, whole, range, layout }: SpectrumDrawing, ink: SpectrumInk): void {
    const { context } = this;
    if (layout.whole.height === 0) return;
    const band = { top: layout.whole.top, height: layout.whole.height - 2 };
    if (traces.maximum !== null) {
      context.fillStyle = ink.often;
      const columns = this.read(traces.maximum, whole);
      fillColumns(context, columns, layout, band.top + band.height, (level) => levelY(band, range, level));
    }
    const [from, to] = [view.fromHz, view.toHz].map((hertz) => layout.left + shareOf(whole, hertz) * layout.across);
    if (from === undefined || to === undefined || to - from > layout.across - 1) return;
    context.strokeStyle = ink.text;
    context.lineWidth = 2;
    context.strokeRect(from + 1, band.top + 1, Math.max(to - from - 2, 3), band.height - 2);
  }

  private paintAxis({ view, layout }: SpectrumDrawing, ink: SpectrumInk): void {
    const { context } = this;
    const { axis, left, across } = layout;
    const { hertz, decimals } = ticksOf(view, Math.max(Math.floor(across / 90), 2));
    for (const one of hertz) {
      const x = left + shareOf(view, one) * across;
      context.fillStyle = ink.edge;
      context.fillRect(Math.round(x), axis.top, 1, 5);
      context.fillStyle = ink.soft;
      const text = (one / 1e6).toFixed(decimals);
      textWithin(context, text, Math.max(x - 44, 0), Math.min(x + 44, layout.width), axis.top + 14);
    }
  }
}
