import type { Band, LevelRange, SpectrumLayout } from "./spectrum_layout";

type Context = CanvasRenderingContext2D;

/** The height at which a level is drawn. */
export function levelY(band: Band, range: LevelRange, level: number): number {
  const share = (range.most - level) / (range.most - range.least);
  return band.top + Math.min(Math.max(share, 0), 1) * band.height;
}

/** Fills everything under a row of columns, each as tall as `y` says; a column that is no number stays empty. */
export function fillColumns(
  context: Context,
  columns: Float32Array,
  layout: SpectrumLayout,
  base: number,
  y: (value: number) => number,
): void {
  const wide = layout.across / columns.length;
  context.beginPath();
  let open = false;
  for (let column = 0; column <= columns.length; column += 1) {
    const value = columns[column] ?? Number.NaN;
    const x = layout.left + column * wide;
    if (Number.isNaN(value)) {
      if (open) context.lineTo(x, base);
      open = false;
      continue;
    }
    if (!open) context.moveTo(x, base);
    open = true;
    const at = y(value);
    context.lineTo(x, at);
    context.lineTo(x + wide, at);
    if (column === columns.length - 1) context.lineTo(x + wide, base);
  }
  context.fill();
}

/** Draws the upper edge of a row of columns. */
export function strokeColumns(
  context: Context,
  columns: Float32Array,
  layout: SpectrumLayout,
  y: (value: number) => number,
): void {
  const wide = layout.across / columns.length;
  context.beginPath();
  let open = false;
  for (let column = 0; column < columns.length; column += 1) {
    const value = columns[column] ?? Number.NaN;
    if (Number.isNaN(value)) {
      open = false;
      continue;
    }
    const [x, at] = [layout.left + column * wide, y(value)];
    if (open) context.lineTo(x, at);
    else context.moveTo(x, at);
    context.lineTo(x + wide, at);
    open = true;
  }
  context.stroke();
}

const HATCH_STEP = 7;

/** Strokes a rectangle full of slanting lines, which are tied to the picture and not to the rectangle. */
export function hatch(context: Context, x: number, y: number, width: number, height: number, lean: 1 | -1 = 1): void {
  if (width <= 0 || height <= 0) return;
  context.save();
  context.beginPath();
  context.rect(x, y, width, height);
  context.clip();
  context.beginPath();
  const first = Math.floor((x - height) / HATCH_STEP) * HATCH_STEP;
  for (let at = first; at <= x + width + height; at += HATCH_STEP) {
    context.moveTo(at, y);
    context.lineTo(at - lean * height, y + height);
  }
  context.stroke();
  context.restore();
}

/** Writes text between two edges if it fits there; says whether it did. */
export function textWithin(context: Context, text: string, from: number, to: number, y: number): boolean {
  const room = to - from - 6;
  if (text === "" || context.measureText(text).width > room) return false;
  context.textAlign = "center";
  context.fillText(text, (from + to) / 2, y);
  return true;
}
