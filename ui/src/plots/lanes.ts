import { shareOf, ticksOf } from "../pure/frequency_view";
import type { LaneLayout, Stretched } from "../pure/lane_layout";
import type { Span } from "../pure/spectrum";
import type { LanesInk } from "./lanes_ink";
import { paintMasts } from "./masts";
import { type LitProducts, paintProducts } from "./products";

/** What stands on a frequency: a carrier that was found, one that is held, one that stood before, a spare, a stranger. */
export type MastLook = "found" | "locked" | "fixed" | "spare" | "protected";

export interface Mast {
  readonly frequencyHz: number;
  readonly zone: string;
  readonly look: MastLook;
  /** How far the next carrier must be, and how far products are kept off at the most; 0 for not at all. */
  readonly spacingHz: number;
  readonly guardHz: number;
  /** It breaks a rule. */
  readonly broken: boolean;
}

/** A stretch where nothing may stand. */
export interface ClosedStretch extends Span {
  readonly words: string;
}

/** How many products of each order fall on each raster point. */
export interface FieldFacts {
  readonly start_hz: number;
  readonly step_hz: number;
  readonly third: ArrayLike<number>;
  readonly fifth: ArrayLike<number>;
}

export interface LanesFacts {
  readonly zones: readonly string[];
  readonly masts: readonly Mast[];
  readonly windows: readonly Span[];
  readonly closed: readonly ClosedStretch[];
  readonly field: FieldFacts | null;
}

/** A maker of a product, with what it is multiplied by. */
export interface Maker {
  readonly frequencyHz: number;
  readonly factor: number;
}

export interface LanesLook {
  readonly view: Span;
  readonly width: number;
  readonly layout: LaneLayout;
  /** The picked mast, −1 for none. */
  readonly picked: number;
  /** The products that the picked one has a part in. */
  readonly lit: LitProducts | null;
  /** Of the product that is looked at: its makers, and where it falls. */
  readonly makers: readonly Maker[];
  readonly productHz: number | null;
}

/** Paints the whole picture. The context is scaled to CSS pixels. */
export function paintLanes(context: CanvasRenderingContext2D, facts: LanesFacts, look: LanesLook, ink: LanesInk): void {
  const { width, layout } = look;
  context.fillStyle = ink.ground;
  context.fillRect(0, 0, width, layout.height);
  paintGround(context, facts, look, ink);
  paintTicks(context, look, ink);
  paintShaft(context, facts, look, ink);
  paintProducts(context, facts.field, look, ink);
  paintMasts(context, facts, look, ink);
}

/** Windows are open ground; all else, and what is excluded, is closed: sunken and hatched. */
function paintGround(context: CanvasRenderingContext2D, facts: LanesFacts, look: LanesLook, ink: LanesInk): void {
  const [first, last] = [look.layout.lanes[0], look.layout.lanes.at(-1)];
  if (first === undefined || last === undefined) return;
  const field = { top: first.top, height: last.top + last.height - first.top };
  paintClosed(context, { left: 0, width: look.width }, field, ink);
  context.fillStyle = ink.lane;
  for (const window of facts.windows) {
    const { left, width } = across(look, window);
    context.fillRect(left, field.top, width, field.height);
  }
  for (const closed of facts.closed) {
    const box = across(look, closed);
    paintClosed(context, box, field, ink);
    paintName(context, closed.words, box, look.layout.names, ink);
  }
  context.fillStyle = ink.ground;
  for (const lane of look.layout.lanes) context.fillRect(0, lane.top, look.width, 2);
}

interface Across {
  readonly left: number;
  readonly width: number;
}

/** Where a stretch lies in the picture, cut off at its edges and never thinner than a pixel. */
function across(look: LanesLook, span: Span): Across {
  const left = Math.max(shareOf(look.view, span.fromHz), 0) * look.width;
  const right = Math.min(shareOf(look.view, span.toHz), 1) * look.width;
  return { left, width: right < left ? 0 : Math.max(right - left, 1) };
}

function paintClosed(
  context: CanvasRenderingContext2D,
  { left, width }: Across,
  { top, height }: Stretched,
  ink: LanesInk,
): void {
  if (width <= 0) return;
  context.fillStyle = ink.closed;
  context.fillRect(left, top, width, height);
  context.fillStyle = hatchOf(context, ink);
  context.fillRect(left, top, width, height);
}

const HATCH = 9;
const hatches = new WeakMap<LanesInk, CanvasPattern | string>();

/** The hatch as a pattern, made once for each ink. */
function hatchOf(context: CanvasRenderingContext2D, ink: LanesInk): CanvasPattern | string {
  const known = hatches.get(ink);
  if (known !== undefined) return known;
  const tile = document.createElement("canvas");
  tile.width = tile.height = HATCH;
  const pen = tile.getContext("2d");
  if (pen !== null) {
    pen.strokeStyle = ink.hatch;
    for (const shift of [-HATCH, 0, HATCH]) {
      pen.moveTo(shift - 1, HATCH + 1);
      pen.lineTo(shift + HATCH + 1, -1);
    }
    pen.stroke();
  }
  const hatch = context.createPattern(tile, "repeat") ?? ink.closed;
  hatches.set(ink, hatch);
  return hatch;
}

function paintName(context: CanvasRenderingContext2D, words: string, box: Across, row: Stretched, ink: LanesInk): void {
  if (words === "" || box.width < 24) return;
  context.font = `400 15px ${ink.font}`;
  const wide = context.measureText(words).width;
  if (wide > box.width - 4) return;
  context.fillStyle = ink.soft;
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.fillText(words, box.left + box.width / 2, row.top + row.height / 2);
}

const PIXELS_PER_TICK = 92;

/** The axis in megahertz: one line that carriers stand on and products hang from. */
function paintTicks(context: CanvasRenderingContext2D, look: LanesLook, ink: LanesInk): void {
  const { layout, view, width } = look;
  const { hertz, decimals } = ticksOf(view, Math.max(Math.floor(width / PIXELS_PER_TICK), 2));
  const top = layout.names.height;
  context.font = `400 15px ${ink.font}`;
  context.textBaseline = "middle";
  for (const one of hertz) {
    const x = Math.round(shareOf(view, one) * width);
    context.fillStyle = ink.grid;
    context.fillRect(x, top, 1, layout.axis.top - top);
    context.fillStyle = ink.soft;
    const text = (one / 1e6).toFixed(decimals);
    const half = context.measureText(text).width / 2;
    context.textAlign = "left";
    context.fillText(
      text,
      Math.min(Math.max(x - half, 2), width - 2 * half - 2),
      layout.axis.top + layout.axis.height / 2 + 1,
    );
  }
  context.fillStyle = ink.rule;
  context.fillRect(0, layout.axis.top, width, 1);
  context.fillRect(0, layout.axis.top + layout.axis.height - 1, width, 1);
}

/** The picked carrier's guard as a shaft through everything: what falls into it is what it must bear. */
function paintShaft(context: CanvasRenderingContext2D, facts: LanesFacts, look: LanesLook, ink: LanesInk): void {
  const picked = facts.masts[look.picked];
  if (picked === undefined) return;
  const { layout, view, width } = look;
  const reach = Math.max(picked.guardHz, picked.spacingHz / 4);
  const left = shareOf(view, picked.frequencyHz - reach) * width;
  const right = shareOf(view, picked.frequencyHz + reach) * width;
  context.fillStyle = ink.select;
  context.fillRect(left, layout.names.height, Math.max(right - left, 2), layout.height - layout.names.height);
}
