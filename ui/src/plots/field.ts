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
 * is drawn with each picture, the rest up to the second age ten times a second, all of it twice.
 */
const SWIFT_AGE_S = 12;
const STEADY_AGE_S = 120;
const STEADY_MS = 100;
const WHOLE_MS = 500;
/** Drawing may take this share of the time; a slow machine shows fewer pictures, at least ten a second. */
const DRAWING_SHARE = 0.2;

/** One canvas that shows the strands of all visible rows. */
export class StrandField {
  private readonly context: CanvasRenderingContext2D;
  private image: ImageData | null = null;
  private surface: Surface | null = null;
  private axis: StrandAxis = logarithmicAxis(1);
  private scale = 1;
  private steadyMs = Number.NEGATIVE_INFINITY;
  private wholeMs = Number.NEGATIVE_INFINITY;
  private nextMs = Number.NEGATIVE_INFINITY;
  private rows: readonly FieldRow[] = [];

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
    this.wholeMs = Number.NEGATIVE_INFINITY;
  }

  /** Says which rows are drawn and where. */
  place(rows: readonly FieldRow[]): void {
    this.rows = rows;
    this.surface?.pixels.fill(0);
    this.wholeMs = Number.NEGATIVE_INFINITY;
  }

  /** Changes the colours. */
  recolour(ink: StrandInk): void {
    this.ink = ink;
    this.wholeMs = Number.NEGATIVE_INFINITY;
  }

  /** Draws the field as it stands at `now` seconds of the console's clock; `frameMs` is the display's time. */
  draw(now: number, frameMs: number): void {
    if (this.image === null || this.surface === null) return;
    const columns = this.columnsDue(frameMs);
    if (columns === 0) return;
    const begun = performance.now();
    const painter = new StrandPainter(this.surface, this.axis, this.ink, this.scale);
    for (const row of this.rows) this.drawRow(painter, row, now, columns);
    this.context.putImageData(this.image, 0, 0, 0, 0, columns, this.canvas.height);
    const cost = performance.now() - begun;
    this.nextMs = columns === this.axis.width ? frameMs : frameMs + cost / DRAWING_SHARE;
  }

  /** How many columns from the near end are to be drawn now. */
  private columnsDue(frameMs: number): number {
    const { width } = this.axis;
    const steady = frameMs - this.steadyMs >= STEADY_MS;
    if (frameMs < this.nextMs && !steady) return 0;
    if (steady) this.steadyMs = frameMs;
    if (frameMs - this.wholeMs >= WHOLE_MS) {
      this.wholeMs = frameMs;
      return width;
    }
    return Math.ceil(axisPosition(steady ? STEADY_AGE_S : SWIFT_AGE_S) * width);
  }

  private drawRow(painter: StrandPainter, row: FieldRow, now: number, columns: number): void {
    const top = Math.round(row.top * this.scale);
    const height = Math.round((row.top + row.height) * this.scale) - top;
    if (top + height <= 0 || top >= this.canvas.height) return;
    // A row that is half out of sight writes beyond the memory's ends, which typed arrays ignore.
    painter.paint(row.bins, { left: 0, top, height }, now, 0, columns);
  }
}
