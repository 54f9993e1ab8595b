import { axisPosition } from "../pure/age_axis";
import type { Bins } from "../pure/bins";
import { logarithmicAxis, type StrandAxis } from "./strand_axis";
import type { StrandInk } from "./strand_ink";
import { StrandPainter, type Surface } from "./strand_painter";

/** A row's strand within the field, in CSS pixels from the field's top. */
export interface FieldRow {
  readonly bins: Bins;
  readonly top: number;
  readonly height: number;
}

/**
 * The near end of the axis moves many pixels a second, its far end none in minutes: what is younger than the first age
 * is drawn with each picture, the rest up to the second age eight times a second, all of it more than once a second.
 */
const SWIFT_AGE_S = 12;
const STEADY_AGE_S = 60;
const STEADY_MS = 125;
const WHOLE_MS = 800;
/** Painting takes at most this much of each picture's time; rows left over come first in the next picture. */
const BUDGET_MS = 6;

interface Placed {
  readonly bins: Bins;
  /** In pixels of the canvas. */
  readonly top: number;
  readonly height: number;
  steadyMs: number;
  wholeMs: number;
}

/** One canvas that shows the strands of all visible rows. */
export class StrandField {
  private readonly context: CanvasRenderingContext2D;
  private image: ImageData | null = null;
  private surface: Surface | null = null;
  private painter: StrandPainter | null = null;
  private axis: StrandAxis = logarithmicAxis(1);
  private scale = 1;
  private rows: Placed[] = [];
  private next = 0;

  constructor(
    private readonly canvas: HTMLCanvasElement,
    private ink: StrandInk,
  ) {
    const context = canvas.getContext("2d");
    if (context === null) throw new Error("this browser gives no canvas to draw on");
    this.context = context;
  }

  /** Gives the field its size in CSS pixels and the density of the screen. */
  resize(width: number, height: number, density: number): void {
    const [across, down] = [Math.max(Math.round(width * density), 1), Math.max(Math.round(height * density), 1)];
    this.scale = density;
    if (this.canvas.width === across && this.canvas.height === down && this.image !== null) return;
    this.canvas.width = across;
    this.canvas.height = down;
    this.canvas.style.width = `${across / density}px`;
    this.canvas.style.height = `${down / density}px`;
    this.image = this.context.createImageData(across, down);
    this.surface = { pixels: new Uint32Array(this.image.data.buffer), stride: across };
    this.axis = logarithmicAxis(across);
    this.recolour(this.ink);
  }

  /** Says which rows are drawn and where; all are drawn anew. */
  place(rows: readonly FieldRow[]): void {
    this.rows = rows
      .map((row) => this.placed(row))
      .filter(({ top, height }) => top + height > 0 && top < this.canvas.height);
    this.next = 0;
    this.surface?.pixels.fill(0);
    this.context.clearRect(0, 0, this.canvas.width, this.canvas.height);
  }

  /** Changes the colours. */
  recolour(ink: StrandInk): void {
    this.ink = ink;
    this.painter = this.surface === null ? null : new StrandPainter(this.surface, this.axis, ink, this.scale);
    for (const row of this.rows) row.wholeMs = Number.NEGATIVE_INFINITY;
  }

  /** Draws what is due at `now` seconds of the console's clock; `frameMs` is the display's time. */
  draw(now: number, frameMs: number): void {
    const end = performance.now() + BUDGET_MS;
    for (let count = this.rows.length; count > 0; count -= 1) {
      const row = this.rows[this.next % this.rows.length];
      this.next = (this.next + 1) % this.rows.length;
      if (row !== undefined) this.drawRow(row, now, frameMs);
      if (performance.now() > end) return;
    }
  }

  private placed(row: FieldRow): Placed {
    const top = Math.round(row.top * this.scale);
    const height = Math.round((row.top + row.height) * this.scale) - top;
    const never = Number.NEGATIVE_INFINITY;
    return { bins: row.bins, top, height, steadyMs: never, wholeMs: never };
  }

  private drawRow(row: Placed, now: number, frameMs: number): void {
    if (this.image === null || this.painter === null) return;
    const columns = this.columnsDue(row, frameMs);
    // A row that is half out of sight writes beyond the memory's ends, which typed arrays ignore.
    this.painter.paint(row.bins, { left: 0, top: row.top, height: row.height }, now, 0, columns);
    this.context.putImageData(this.image, 0, 0, 0, row.top, columns, row.height);
  }

  /** How many columns of a row, from the near end, are to be drawn now. */
  private columnsDue(row: Placed, frameMs: number): number {
    const { width } = this.axis;
    if (frameMs - row.wholeMs >= WHOLE_MS) {
      row.wholeMs = spread(row.wholeMs, frameMs, WHOLE_MS);
      row.steadyMs = frameMs;
      return width;
    }
    const steady = frameMs - row.steadyMs >= STEADY_MS;
    if (steady) row.steadyMs = spread(row.steadyMs, frameMs, STEADY_MS);
    return Math.ceil(axisPosition(steady ? STEADY_AGE_S : SWIFT_AGE_S) * width);
  }
}

/** The first turn of a row lies anywhere in the interval, so that not all rows are due in the same picture. */
function spread(beforeMs: number, frameMs: number, intervalMs: number): number {
  return Number.isFinite(beforeMs) ? frameMs : frameMs - Math.random() * intervalMs;
}
