import type { Bins } from "../pure/bins";
import { linearAxis, type StrandAxis } from "./strand_axis";
import type { StrandInk } from "./strand_ink";
import { StrandPainter } from "./strand_painter";
import { type Column, emptyColumn, sampleColumn } from "./strand_sample";

/** The past of one row on even steps of time, now at the right. */
export class HistoryPlot {
  private readonly context: CanvasRenderingContext2D;
  private axis: StrandAxis = linearAxis(1, 1, 0);
  private image: ImageData | null = null;
  private made = "";

  constructor(private readonly canvas: HTMLCanvasElement) {
    const context = canvas.getContext("2d");
    if (context === null) throw new Error("this browser gives no canvas to draw on");
    this.context = context;
  }

  /** Draws `spanSeconds` of a row's past up to `now`, over the whole canvas. */
  draw(bins: Bins, ink: StrandInk, now: number, size: { width: number; height: number; span: number }): void {
    const density = devicePixelRatio;
    const [across, down] = [Math.max(Math.round(size.width * density), 1), Math.round(size.height * density)];
    const made = `${across} ${down} ${size.span}`;
    if (made !== this.made || this.image === null) this.make(across, down, size.span, made);
    if (this.image === null) return;
    const surface = { pixels: new Uint32Array(this.image.data.buffer), stride: across };
    const painter = new StrandPainter(surface, this.axis, ink, density);
    painter.paint(bins, { left: 0, top: 0, height: down }, now, 0, across);
    this.context.putImageData(this.image, 0, 0);
  }

  /** What the row reported at a share of the width, 0 at the left. */
  at(bins: Bins, share: number, now: number): { readonly at: number; readonly column: Column } {
    const x = Math.min(Math.max(Math.floor(share * this.axis.width), 0), this.axis.width - 1);
    const column = emptyColumn();
    sampleColumn(bins, this.axis, x, now, column);
    return { at: now - (this.axis.near[x] ?? 0), column };
  }

  private make(across: number, down: number, span: number, made: string): void {
    this.canvas.width = across;
    this.canvas.height = down;
    this.image = this.context.createImageData(across, down);
    this.axis = linearAxis(across, span, 0);
    this.made = made;
  }
}
