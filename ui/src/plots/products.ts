import { depthOf, fieldColumns } from "../pure/field_columns";
import { shareOf } from "../pure/frequency_view";
import type { Stretched } from "../pure/lane_layout";
import type { FieldFacts, LanesLook } from "./lanes";
import type { LanesInk } from "./lanes_ink";

/** Products that are lit: how many fall on each raster point. */
export interface LitProducts {
  readonly start_hz: number;
  readonly step_hz: number;
  readonly counts: ArrayLike<number>;
}

/** Paints where products fall, hanging from the axis: the third order first, the fifth below it. */
export function paintProducts(
  context: CanvasRenderingContext2D,
  field: FieldFacts | null,
  look: LanesLook,
  ink: LanesInk,
): void {
  const { third, fifth } = look.layout;
  context.fillStyle = ink.rule;
  context.fillRect(0, fifth.top, look.width, 1);
  if (field !== null) {
    paintOrder(context, { ...field, counts: field.third }, third, look, [ink.third, ink.thirdMost]);
    paintOrder(context, { ...field, counts: field.fifth }, fifth, look, [ink.fifth, ink.fifthMost]);
  }
  if (look.lit !== null) paintLit(context, look.lit, look, ink);
}

type Colours = readonly [mean: string, most: string];

/** The most of each column as a pale band, its mean as a stronger one upon it: the most alone would grow with the view and lie. */
function paintOrder(
  context: CanvasRenderingContext2D,
  counts: LitProducts,
  box: Stretched,
  look: LanesLook,
  [mean, most]: Colours,
): void {
  const columns = fieldColumns(counts, look.view, Math.ceil(look.width));
  const greatest = greatestOf(counts.counts);
  const deep = box.height - 4;
  for (const [colour, heights] of [
    [most, columns.most],
    [mean, columns.mean],
  ] as const) {
    context.fillStyle = colour;
    context.beginPath();
    context.moveTo(0, box.top + 1);
    traceSkyline(context, heights, (count) => box.top + 1 + depthOf(count, greatest) * deep);
    context.lineTo(heights.length, box.top + 1);
    context.fill();
  }
}

/** One line along all columns: a single shape is drawn many times faster than a box for each. */
function traceSkyline(
  context: CanvasRenderingContext2D,
  heights: Float32Array,
  depth: (count: number) => number,
): void {
  let before = -1;
  for (const [column, count] of heights.entries()) {
    if (count === before) continue;
    if (before >= 0) context.lineTo(column, depth(before));
    context.lineTo(column, depth(count));
    before = count;
  }
  context.lineTo(heights.length, depth(Math.max(before, 0)));
}

const greatestKnown = new WeakMap<object, number>();

/** The greatest count, reckoned once for each field. */
function greatestOf(counts: ArrayLike<number>): number {
  const known = greatestKnown.get(counts);
  if (known !== undefined) return known;
  let greatest = 0;
  for (let index = 0; index < counts.length; index += 1) greatest = Math.max(greatest, counts[index] ?? 0);
  greatestKnown.set(counts, greatest);
  return greatest;
}

const LIT_LEAST = 8;
const LIT_SHARE = 0.3;

/** The picked carrier's own products, each a bright tick at the axis: the more fall together, the longer. */
function paintLit(context: CanvasRenderingContext2D, lit: LitProducts, look: LanesLook, ink: LanesInk): void {
  const { third } = look.layout;
  const greatest = greatestOf(lit.counts);
  const step = (shareOf(look.view, lit.step_hz) - shareOf(look.view, 0)) * look.width;
  const wide = Math.max(Math.min(Math.floor(step) - 1, 3), 1);
  const { most } = fieldColumns(lit, look.view, Math.ceil(look.width / wide));
  context.fillStyle = ink.text;
  context.beginPath();
  for (const [column, count] of most.entries()) {
    if (count === 0) continue;
    const down = LIT_LEAST + depthOf(count, greatest) * third.height * LIT_SHARE;
    context.rect(column * wide, third.top + 1, wide, down);
  }
  context.fill();
}
