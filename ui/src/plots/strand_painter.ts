import { ASLEEP_BIT, type Bins } from "../pure/bins";
import type { StrandAxis } from "./strand_axis";
import { mixed, type StrandInk } from "./strand_ink";
import { type Column, emptyColumn, sampleColumn } from "./strand_sample";

/** The levels at the top and the foot of a strand, in dBm. */
const TOP_DBM = -30;
const FOOT_DBM = -105;
const DASH = 5;
const LINE_PIXELS = 1.5;
const DAMAGE_LEAST = 0.02;
const ASLEEP_TICK = 12;
/** Damage over more pixels than this is lasting, and drawn with less than its full strength. */
const LASTING = 6;
const LASTING_STRENGTH = 0.4;
const FRINGE_SHARE = 0.17;

/** A piece of memory that strands are painted into, and how many pixels one of its lines has. */
export interface Surface {
  readonly pixels: Uint32Array;
  readonly stride: number;
}

/** Where a strand stands in a surface, in pixels. */
export interface Frame {
  readonly left: number;
  readonly top: number;
  readonly height: number;
}

/** Paints rows' strands pixel by pixel: the cost hangs on the size of the picture alone. */
export class StrandPainter {
  private readonly column: Column = emptyColumn();
  private foot = 0;
  private base = 0;
  private lastWorst = Number.NaN;
  private damagedColumns = 0;

  constructor(
    private readonly surface: Surface,
    private readonly axis: StrandAxis,
    private readonly ink: StrandInk,
    private readonly scale: number,
  ) {}

  /** Paints the columns `from` to `to` of a row's strand as it stands at `now` seconds. */
  paint(bins: Bins, frame: Frame, now: number, from: number, to: number): void {
    const fringe = Math.max(Math.round(frame.height * FRINGE_SHARE), 3);
    this.foot = frame.height - fringe - 1;
    this.lastWorst = Number.NaN;
    this.damagedColumns = 0;
    let lastY = Number.NaN;
    let lastReported = true;
    this.clear(frame, from, to);
    for (let x = from; x < to; x += 1) {
      sampleColumn(bins, this.axis, x, now, this.column);
      this.base = frame.top * this.surface.stride + frame.left + x;
      if (this.axis.marked[x] === 1) this.span(0, frame.height, this.ink.grid);
      if (this.column.reported) {
        lastY = this.paintReport(x, frame.height, lastY);
      } else {
        if (!this.column.before) this.paintGap(x, frame.height, lastReported && x > from);
        lastY = Number.NaN;
        this.lastWorst = Number.NaN;
      }
      lastReported = this.column.reported;
    }
  }

  private clear(frame: Frame, from: number, to: number): void {
    const { pixels, stride } = this.surface;
    for (let row = Math.max(frame.top, 0); row < frame.top + frame.height; row += 1) {
      const line = row * stride + frame.left;
      pixels.fill(this.ink.ground, line + from, line + to);
    }
  }

  /** A sleeping pack: pale ticks along the foot, and nothing that asks to be looked at. */
  private paintAsleep(x: number): number {
    if (x % Math.round(ASLEEP_TICK * this.scale) < this.scale)
      this.span(this.foot - 4 * this.scale, this.foot, this.ink.gap);
    return Number.NaN;
  }

  private paintReport(x: number, height: number, lastY: number): number {
    if ((this.column.deaf & ASLEEP_BIT) !== 0) return this.paintAsleep(x);
    this.span(this.foot + 1, this.foot + 1 + this.column.speech * (height - this.foot - 1), this.ink.speech);
    const y = this.yOf(this.column.median);
    if (!Number.isNaN(y)) {
      this.span(y, this.foot, this.ink.band);
      this.paintHair(y);
      this.paintLine(y, Number.isNaN(lastY) ? y : lastY);
    }
    this.paintDeaf(x);
    this.paintDamage(x, height);
    return y;
  }

  /** A notch over the full height that dims with age; where damage lasts, its younger edge stays bright. */
  private paintDamage(x: number, height: number): void {
    if (this.column.damage < DAMAGE_LEAST) {
      this.damagedColumns = 0;
      return;
    }
    this.damagedColumns += 1;
    const lasting = this.damagedColumns > LASTING * this.scale ? LASTING_STRENGTH : 1;
    this.span(0, height, mixed(this.ink.ground, this.ink.damage, (this.axis.strength[x] ?? 1) * lasting));
  }

  private paintHair(y: number): void {
    const worst = this.yOf(this.column.worst);
    const last = Number.isNaN(this.lastWorst) ? worst : this.lastWorst;
    this.lastWorst = worst;
    if (worst <= y + this.scale) return;
    this.span(
      Math.max(Math.min(worst, last), y),
      Math.max(worst, Math.min(last, this.foot)) + this.scale,
      this.ink.hair,
    );
  }

  /** The line is joined to the column before it and softened at its edges. */
  private paintLine(y: number, lastY: number): void {
    const half = (LINE_PIXELS * this.scale) / 2;
    const top = Math.min(y, lastY) - half;
    const bottom = Math.max(Math.min(y, lastY) + half, y + half);
    const first = Math.floor(top);
    const last = Math.min(Math.floor(bottom), this.foot);
    for (let row = Math.max(first, 0); row <= last; row += 1) {
      const covered = Math.min(row + 1, bottom) - Math.max(row, top);
      const index = this.base + row * this.surface.stride;
      const under = this.surface.pixels[index] ?? 0;
      this.surface.pixels[index] = covered >= 1 ? this.ink.line : mixed(under, this.ink.line, Math.max(covered, 0));
    }
  }

  /** A deaf branch: the first along the upper edge, the second under it, in a rhythm of its own. */
  private paintDeaf(x: number): void {
    const { deaf } = this.column;
    if (deaf === 0) return;
    const thick = Math.max(Math.round(2 * this.scale), 1);
    const dash = Math.round(DASH * this.scale);
    if ((deaf & 1) !== 0 && x % (dash * 2) < dash) this.span(0, thick, this.ink.deaf);
    if ((deaf & ~1) !== 0 && x % dash < dash / 2) this.span(0, thick, this.ink.deaf);
  }

  private paintGap(x: number, height: number, begins: boolean): void {
    const thick = Math.max(Math.round(this.scale), 1);
    const dash = Math.round(DASH * this.scale);
    if (begins) {
      for (let y = 0; y < height; y += dash * 2) this.span(y, Math.min(y + dash, height), this.ink.gap);
    }
    if (x % (dash * 2) >= dash) return;
    this.span(0, thick, this.ink.gap);
    this.span(height - thick, height, this.ink.gap);
  }

  private yOf(dbm: number): number {
    const share = (TOP_DBM - dbm) / (TOP_DBM - FOOT_DBM);
    const margin = 3 * this.scale;
    return margin + Math.min(Math.max(share, 0), 1) * (this.foot - margin - 1);
  }

  private span(from: number, to: number, colour: number): void {
    const { pixels, stride } = this.surface;
    const end = this.base + Math.round(to) * stride;
    for (let index = this.base + Math.round(from) * stride; index < end; index += stride) pixels[index] = colour;
  }
}
