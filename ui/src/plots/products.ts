import { depthOf, type FieldColumns, fieldColumns } from "../pure/field_columns";
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

/** The mean of each column as a filled band, its most as a hair below: the most alone would grow with the view and lie. */
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
  context.fillStyle = mean;
  eachColumn(columns, (column) => {
    const down = depthOf(columns.mean[column] ?? 0, greatest) * deep;
    if (down > 0) context.fillRect(column, box.top + 1, 1, down);
  });
  context.fillStyle = most;
  eachColumn(columns, (column) => {
    const down = depthOf(columns.most[column] ?? 0, greatest) * deep;
    if (down > 0) context.fillRect(column, box.top + down, 1, 1.5);
  });
}

function eachColumn({ mean }: FieldColumns, paint: (column: number) => void): void {
  for (let column = 0; column < mean.length; column += 1) paint(column);
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

const LIT_LEAST = 10;

/** The picked carrier's own products, each a bright line from the axis down: the more fall together, the longer. */
function paintLit(context: CanvasRenderingContext2D, lit: LitProducts, look: LanesLook, ink: LanesInk): void {
  const { third } = look.layout;
  const greatest = greatestOf(lit.counts);
  const wide = Math.max(Math.min((shareOf(look.view, lit.step_hz) - shareOf(look.view, 0)) * look.width - 1, 3), 1);
  context.fillStyle = ink.text;
  const { most } = fieldColumns(lit, look.view, Math.ceil(look.width / wide));
  for (const [column, count] of most.entries()) {
    if (count === 0) continue;
    const down = LIT_LEAST + depthOf(count, greatest) * (third.height - LIT_LEAST - 6);
    context.fillRect(column * wide, third.top + 1, Math.max(wide - 1, 1), down);
  }
}
