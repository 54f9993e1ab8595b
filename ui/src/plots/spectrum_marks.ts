import type { FloorPoint } from "../protocol/model";
import { hertzAt, shareOf } from "../pure/frequency_view";
import { decimal, whole } from "../pure/number_words";
import type { Span } from "../pure/spectrum";
import type { SpectrumDrawing } from "./spectrum";
import type { SpectrumInk } from "./spectrum_ink";
import { hatch, levelY, textWithin } from "./spectrum_layers";

type Context = CanvasRenderingContext2D;

/** A named block of a region's raster. */
export interface NamedBlock extends Span {
  readonly name: string;
  /** Why it is no broadcaster's; empty where it is. */
  readonly words: string;
}

/** A carrier of our own. */
export interface OwnCarrier {
  readonly hertz: number;
  /** The rows whose carrier it is. */
  readonly numbers: readonly number[];
  readonly label: string;
  /** Whether the scan heard something there. */
  readonly heard: boolean;
}

export interface KeptOut extends Span {
  readonly words: string;
}

/** What is drawn over, behind and beside the levels. */
export interface SpectrumMarks {
  readonly blocks: readonly NamedBlock[];
  readonly own: readonly OwnCarrier[];
  /** Carriers that the scan found: where and how strong. */
  readonly found: readonly { readonly hertz: number; readonly dbm: number }[];
  /** The floor by frequency, and how far above it something is taken for a signal. */
  readonly floor: readonly FloorPoint[];
  readonly thresholdDb: number;
  readonly keptOut: readonly KeptOut[];
  /** Where carriers are asked for at all; everywhere where this is empty. */
  readonly windows: readonly Span[];
  /** Where there is room. */
  readonly room: readonly Span[];
  /** What is being painted. */
  readonly painted: Span | null;
  readonly cursorHz: number | null;
  /** The names of the layers, where there is a gutter for them. */
  readonly names: Readonly<Record<"blocks" | "own" | "levels" | "often" | "change" | "room" | "whole", string>>;
  readonly floorName: string;
  readonly markName: string;
}

const GRID_DB = 20;
const FOUND_MOST_IN_VIEW = 80;
const LABELS_APART = 5;
const LINES_APART = 6;
/** A gutter at least so wide has room for the names of the layers. */
const GUTTER_LEAST = 40;

/** Paints everything but the levels themselves. */
export function paintMarks(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  paintKeptOut(context, drawing, ink);
  paintBlocks(context, drawing, ink);
  paintFloor(context, drawing, ink);
  paintFound(context, drawing, ink);
  paintOwn(context, drawing, ink);
  paintRoom(context, drawing, ink);
  paintPainted(context, drawing, ink);
  paintNames(context, drawing, ink);
  paintCursor(context, drawing, ink);
}

/** The edges of a stretch in pixels, within the axis; null where it isn't in view. */
function edges({ view, layout }: SpectrumDrawing, { fromHz, toHz }: Span): [number, number] | null {
  if (toHz <= view.fromHz || fromHz >= view.toHz) return null;
  const x = (hertz: number) => layout.left + Math.min(Math.max(shareOf(view, hertz), 0), 1) * layout.across;
  return [x(fromHz), x(toHz)];
}

function paintKeptOut(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { levels, often } = drawing.layout;
  context.lineWidth = 1;
  for (const one of drawing.marks.keptOut) {
    const found = edges(drawing, one);
    if (found === null) continue;
    const [from, to] = found;
    context.strokeStyle = ink.edge;
    context.globalAlpha = 0.55;
    hatch(context, from, levels.top, Math.max(to - from, 2), levels.height + often.height);
    context.globalAlpha = 1;
    context.fillStyle = ink.edge;
    for (const x of [from, to - 1]) context.fillRect(x, levels.top, 1, levels.height + often.height);
  }
}

/** The blocks, each named if there is room for the names of all, else as many of them as there is room for. */
function paintBlocks(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { blocks, levels, own, left, across } = drawing.layout;
  let written = Number.NEGATIVE_INFINITY;
  context.textAlign = "center";
  for (const block of drawing.marks.blocks) {
    const found = edges(drawing, block);
    if (found === null) continue;
    const [from, to] = found;
    context.fillStyle = ink.rule;
    context.fillRect(from, blocks.top, 1, blocks.height + own.height + levels.height);
    const [middle, half] = [(from + to) / 2, context.measureText(block.name).width / 2];
    if (middle - half < Math.max(written + LABELS_APART, left) || middle + half > left + across) continue;
    context.fillStyle = ink.soft;
    context.fillText(block.name, middle, blocks.top + blocks.height / 2);
    written = middle + half;
  }
}

/** The mark above which something is taken for a signal, a dotted line that goes with the floor. */
function paintFloor(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { floor, thresholdDb, floorName } = drawing.marks;
  const first = floor[0];
  if (first === undefined) return;
  const { levels, left, across } = drawing.layout;
  const y = (dbm: number) => Math.round(levelY(levels, drawing.range, dbm)) + 0.5;
  context.save();
  context.beginPath();
  context.rect(left, levels.top, across, levels.height);
  context.clip();
  context.strokeStyle = ink.text;
  context.lineWidth = 1;
  context.setLineDash([2, 4]);
  context.beginPath();
  context.moveTo(left, y(first.floor_dbm + thresholdDb));
  for (const { frequency_hz, floor_dbm } of floor) {
    context.lineTo(left + shareOf(drawing.view, frequency_hz) * across, y(floor_dbm + thresholdDb));
  }
  context.lineTo(left + across, y((floor.at(-1) ?? first).floor_dbm + thresholdDb));
  context.stroke();
  context.restore();
  if (left < GUTTER_LEAST) return;
  context.fillStyle = ink.soft;
  context.textAlign = "left";
  context.fillText(floorName, 14, levels.top + levels.height - 9);
  const mark = y(first.floor_dbm + thresholdDb);
  if (mark < levels.top + levels.height - 26) context.fillText(drawing.marks.markName, 14, mark);
}

/** A small hollow arrow above each carrier that was found, while few enough are in view to be told apart. */
function paintFound(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { view, layout, range, marks } = drawing;
  const seen = marks.found.filter(({ hertz }) => hertz >= view.fromHz && hertz <= view.toHz);
  if (seen.length > FOUND_MOST_IN_VIEW) return;
  context.strokeStyle = ink.text;
  context.lineWidth = 1.25;
  for (const { hertz, dbm } of seen) {
    const x = layout.left + shareOf(view, hertz) * layout.across;
    const y = Math.max(levelY(layout.levels, range, dbm) - 4, layout.levels.top + 8);
    context.beginPath();
    context.moveTo(x - 4, y - 6);
    context.lineTo(x + 4, y - 6);
    context.lineTo(x, y);
    context.closePath();
    context.stroke();
  }
}

function paintOwn(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { view, layout, marks } = drawing;
  if (layout.own.height === 0) return;
  let [written, lined] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { hertz, label, heard } of marks.own) {
    if (hertz < view.fromHz || hertz > view.toHz) continue;
    const x = layout.left + shareOf(view, hertz) * layout.across;
    const foot = layout.own.top + layout.own.height;
    context.fillStyle = heard ? ink.asks : ink.mark;
    // What was heard has its own peak below; a line would only hide it.
    if (!heard && x - lined >= LINES_APART) {
      context.globalAlpha = 0.4;
      context.fillRect(Math.round(x), foot, 1, layout.levels.height);
      context.globalAlpha = 1;
      lined = x;
    }
    // Heard is a filled diamond, not heard a bar: the shape tells, not only the colour.
    if (heard) diamond(context, x, foot - 4);
    else context.fillRect(Math.round(x) - 1, foot - 7, 3, 7);
    const wide = context.measureText(label).width / 2;
    if (x - wide < written + LABELS_APART) continue;
    context.textAlign = "center";
    context.fillStyle = heard ? ink.asks : ink.text;
    context.fillText(label, x, layout.own.top + 8);
    written = x + wide;
  }
}

function diamond(context: Context, x: number, y: number): void {
  context.beginPath();
  context.moveTo(x, y - 5);
  context.lineTo(x + 5, y);
  context.lineTo(x, y + 5);
  context.lineTo(x - 5, y);
  context.fill();
}

/**
 * Where there is room is the brightest of all; what is kept out is hatched; what is taken stays dark.
 *
 * Where nobody asks for carriers there is nothing but the ground.
 */
function paintRoom(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { room } = drawing.layout;
  if (room.height === 0) return;
  const [top, tall] = [room.top + 6, room.height - 12];
  const { windows } = drawing.marks;
  context.fillStyle = ink.trough;
  for (const one of windows.length === 0 ? [drawing.whole] : windows) {
    const [from, to] = edges(drawing, one) ?? [0, 0];
    context.fillRect(from, top, to - from, tall);
  }
  context.strokeStyle = ink.edge;
  context.lineWidth = 1;
  for (const one of drawing.marks.keptOut) {
    const found = edges(drawing, one);
    if (found === null) continue;
    const [from, to] = found;
    context.fillStyle = ink.ground;
    context.fillRect(from, top, Math.max(to - from, 2), tall);
    hatch(context, from, top, Math.max(to - from, 2), tall);
    context.strokeRect(from + 0.5, top + 0.5, Math.max(to - from - 1, 1), tall - 1);
    labelWithin(context, one.words, [from, to], top + tall / 2, ink);
  }
  for (const one of drawing.marks.room) {
    const found = edges(drawing, one);
    if (found === null) continue;
    const [from, to] = found;
    context.fillStyle = ink.mark;
    context.fillRect(from, top, Math.max(to - from - 1, 1), tall);
    context.fillStyle = ink.ground;
    textWithin(context, decimal((one.toHz - one.fromHz) / 1e6, 1), from, to, top + tall / 2);
  }
}

function labelWithin(context: Context, text: string, [from, to]: [number, number], y: number, ink: SpectrumInk): void {
  const wide = context.measureText(text).width;
  if (text === "" || wide > to - from - 10) return;
  context.fillStyle = ink.ground;
  context.fillRect((from + to - wide) / 2 - 4, y - 9, wide + 8, 18);
  context.fillStyle = ink.text;
  textWithin(context, text, from, to, y);
}

function paintPainted(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { painted } = drawing.marks;
  const found = painted === null ? null : edges(drawing, painted);
  if (found === null) return;
  const { levels, room } = drawing.layout;
  const [from, to] = found;
  context.strokeStyle = ink.text;
  context.lineWidth = 2;
  context.setLineDash([5, 3]);
  context.strokeRect(from, levels.top, Math.max(to - from, 2), room.top + room.height - 4 - levels.top);
  context.setLineDash([]);
}

function paintNames(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { layout, marks, range } = drawing;
  const gutter = layout.left >= GUTTER_LEAST;
  context.fillStyle = ink.soft;
  for (let level = Math.ceil(range.least / GRID_DB) * GRID_DB; level < range.most; level += GRID_DB) {
    if (level - range.least < 5) continue;
    const y = levelY(layout.levels, range, level);
    if (gutter) {
      context.textAlign = "right";
      context.fillText(whole(level), layout.left - 8, y);
    } else labelledLevel(context, whole(level), layout.left, y, ink);
  }
  if (!gutter) return;
  context.textAlign = "left";
  for (const [name, text] of Object.entries(marks.names)) {
    const band = layout[name as keyof typeof marks.names];
    if (band.height > 0) context.fillText(text, 14, name === "levels" ? band.top + 12 : band.top + band.height / 2);
  }
}

/** Without a gutter a level is written into the picture, on a ground of its own. */
function labelledLevel(context: Context, text: string, left: number, y: number, ink: SpectrumInk): void {
  context.textAlign = "left";
  context.fillStyle = ink.ground;
  context.fillRect(left, y - 9, context.measureText(text).width + 6, 18);
  context.fillStyle = ink.soft;
  context.fillText(text, left + 3, y);
}

function paintCursor(context: Context, drawing: SpectrumDrawing, ink: SpectrumInk): void {
  const { view, layout, marks } = drawing;
  if (marks.cursorHz === null) return;
  const share = shareOf(view, marks.cursorHz);
  if (share < 0 || share > 1) return;
  context.fillStyle = ink.text;
  const x = Math.round(layout.left + share * layout.across);
  context.fillRect(x, layout.blocks.top, 1, layout.axis.top + 6 - layout.blocks.top);
}

/** The frequency under a place of the picture. */
export function hertzUnder({ view, layout }: Pick<SpectrumDrawing, "view" | "layout">, x: number): number {
  return hertzAt(view, (x - layout.left) / layout.across);
}
