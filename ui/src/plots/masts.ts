import { shareOf } from "../pure/frequency_view";
import type { Stretched } from "../pure/lane_layout";
import { megahertz } from "../pure/number_words";
import type { LanesFacts, LanesLook, Mast } from "./lanes";
import type { LanesInk } from "./lanes_ink";

const LABEL_ROOM = 66;
const LABEL_HEIGHT = 20;
const LANE_WITH_LABELS = 52;
/** In a narrow picture the names of the lanes stand in it, at the left. */
const NARROW = 700;
const NAME_ROOM = 132;

/** Where a mast stands in its lane. */
interface Placed {
  readonly mast: Mast;
  readonly index: number;
  readonly x: number;
  readonly lane: Stretched;
}

/** Paints the carriers: a mast on its spacing as a plinth, with the guard against products laid on it. */
export function paintMasts(context: CanvasRenderingContext2D, facts: LanesFacts, look: LanesLook, ink: LanesInk): void {
  const placed = inView(facts, look);
  const scale = look.width / (look.view.toHz - look.view.fromHz);
  paintBars(context, placed, scale, ink);
  const plain = placed.filter(({ mast, index }) => mast.look === "found" && !mast.broken && index !== look.picked);
  fillTogether(context, look.picked === -1 ? ink.mast : ink.faint, plain, ({ x, lane }) => {
    const high = mastHeight(lane);
    context.rect(x - 1, lane.top + lane.height - high, 2, high);
  });
  const drawn = new Set(plain);
  for (const one of placed) if (!drawn.has(one)) paintMast(context, one, look, ink);
  paintLabels(context, placed, look, ink);
  paintMakers(context, placed, look, ink);
}

function inView(facts: LanesFacts, look: LanesLook): Placed[] {
  const lanes = new Map(facts.zones.map((zone, index) => [zone, look.layout.lanes[index]]));
  const placed: Placed[] = [];
  for (const [index, mast] of facts.masts.entries()) {
    const lane = lanes.get(mast.zone);
    const share = shareOf(look.view, mast.frequencyHz);
    if (lane !== undefined && share > -0.05 && share < 1.05) placed.push({ mast, index, x: share * look.width, lane });
  }
  return placed;
}

/** Plinths first, guards upon them, so that those of neighbours never hide a guard. */
function paintBars(context: CanvasRenderingContext2D, placed: readonly Placed[], scale: number, ink: LanesInk): void {
  fillTogether(context, ink.plinth, placed, ({ mast, x, lane }) => {
    if (mast.look === "spare") return;
    const half = (mast.spacingHz / 2) * scale;
    const high = plinthOf(lane);
    context.rect(x - half + 0.5, lane.top + lane.height - high, Math.max(2 * half - 1, 1), high);
  });
  fillTogether(context, ink.guard, placed, ({ mast, x, lane }) => {
    if (mast.guardHz === 0) return;
    const half = mast.guardHz * scale;
    const high = plinthOf(lane) / 2;
    context.rect(x - half, lane.top + lane.height - high, Math.max(2 * half, 1), high);
  });
}

/** Fills what is traced for each of them as one shape, which is many times faster than one by one. */
function fillTogether(
  context: CanvasRenderingContext2D,
  colour: string,
  placed: readonly Placed[],
  trace: (one: Placed) => void,
): void {
  context.fillStyle = colour;
  context.beginPath();
  for (const one of placed) trace(one);
  context.fill();
}

function plinthOf(lane: Stretched): number {
  return Math.min(Math.max(Math.round(lane.height * 0.2), 8), 22);
}

function paintMast(
  context: CanvasRenderingContext2D,
  { mast, index, x, lane }: Placed,
  look: LanesLook,
  ink: LanesInk,
): void {
  const picked = index === look.picked;
  const dimmed = look.picked !== -1 && !picked;
  const bottom = lane.top + lane.height;
  const whole = mastHeight(lane);
  const high = mast.look === "spare" ? whole * 0.55 : whole;
  const top = bottom - high;
  context.fillStyle = picked ? ink.text : dimmed || mast.look === "spare" ? ink.faint : ink.mast;
  if (mast.look === "spare" || mast.look === "protected") paintDashes(context, x, top, bottom);
  else context.fillRect(x - 1, top, picked ? 3 : 2, high);
  paintHead(context, mast, { x, y: top }, ink);
  if (mast.broken) paintTrouble(context, x, top - 2, ink);
}

function mastHeight(lane: Stretched): number {
  return lane.height - (lane.height >= LANE_WITH_LABELS ? LABEL_HEIGHT + 8 : 10);
}

function paintDashes(context: CanvasRenderingContext2D, x: number, top: number, bottom: number): void {
  for (let y = top; y < bottom; y += 6) context.fillRect(x - 1, y, 2, Math.min(4, bottom - y));
}

/** A held one has a solid square, one that stood before a bar across, a spare a ring, a stranger an open square. */
function paintHead(context: CanvasRenderingContext2D, mast: Mast, at: { x: number; y: number }, ink: LanesInk): void {
  const { x, y } = at;
  switch (mast.look) {
    case "found":
      return;
    case "locked":
      context.fillRect(x - 4, y - 4, 8, 8);
      return;
    case "fixed":
      context.fillRect(x - 6, y - 1, 12, 4);
      return;
    case "spare":
    case "protected":
      context.strokeStyle = context.fillStyle;
      context.fillStyle = ink.lane;
      context.lineWidth = 2;
      context.beginPath();
      if (mast.look === "spare") context.arc(x, y, 4, 0, 2 * Math.PI);
      else context.rect(x - 4, y - 4, 8, 8);
      context.fill();
      context.stroke();
  }
}

/** The mark of priority 2, as everywhere: a triangle with its number. */
function paintTrouble(context: CanvasRenderingContext2D, x: number, bottom: number, ink: LanesInk): void {
  context.fillStyle = ink.broken;
  context.beginPath();
  context.moveTo(x, bottom - 18);
  context.lineTo(x + 10, bottom);
  context.lineTo(x - 10, bottom);
  context.fill();
  context.fillStyle = ink.onBroken;
  context.font = `700 12px ${ink.font}`;
  context.textAlign = "center";
  context.textBaseline = "alphabetic";
  context.fillText("2", x, bottom - 3);
}

/** Frequencies stand above the masts where all in sight of a lane have room, and above the picked one always. */
function paintLabels(
  context: CanvasRenderingContext2D,
  placed: readonly Placed[],
  look: LanesLook,
  ink: LanesInk,
): void {
  context.font = `400 15px ${ink.font}`;
  context.textAlign = "center";
  context.textBaseline = "middle";
  for (const lane of look.layout.lanes) {
    if (lane.height < LANE_WITH_LABELS) continue;
    const mine = placed.filter((one) => one.lane === lane && one.mast.look !== "spare" && !one.mast.broken);
    if (!roomy(mine)) continue;
    context.fillStyle = ink.soft;
    for (const { mast, index, x } of mine)
      if (index !== look.picked) context.fillText(megahertz(mast.frequencyHz), x, lane.top + LABEL_HEIGHT / 2 + 3);
  }
  const picked = placed.find(({ index }) => index === look.picked);
  if (picked !== undefined) paintPickedLabel(context, picked, look, ink);
}

function roomy(placed: readonly Placed[]): boolean {
  const places = placed.map(({ x }) => x).sort((one, other) => one - other);
  return places.every((x, index) => index === 0 || x - (places[index - 1] ?? 0) >= LABEL_ROOM);
}

function paintPickedLabel(
  context: CanvasRenderingContext2D,
  { mast, x, lane }: Placed,
  look: LanesLook,
  ink: LanesInk,
): void {
  const text = megahertz(mast.frequencyHz);
  context.font = `650 15px ${ink.font}`;
  const wide = context.measureText(text).width + 12;
  const least = look.width < NARROW ? NAME_ROOM : 1;
  const left = Math.min(Math.max(x - wide / 2, least), look.width - wide - 1);
  const top = lane.top + 2;
  context.fillStyle = ink.text;
  context.fillRect(left, top, wide, LABEL_HEIGHT);
  context.fillStyle = ink.ground;
  context.textAlign = "left";
  context.fillText(text, left + 6, top + LABEL_HEIGHT / 2 + 1);
}

/** The makers of the product that is looked at: each a ring with its factor, and a line to where the product falls. */
function paintMakers(
  context: CanvasRenderingContext2D,
  placed: readonly Placed[],
  look: LanesLook,
  ink: LanesInk,
): void {
  if (look.productHz === null) return;
  const x = shareOf(look.view, look.productHz) * look.width;
  const { axis } = look.layout;
  context.fillStyle = ink.text;
  context.beginPath();
  context.moveTo(x, axis.top + 2);
  context.lineTo(x + 6, axis.top + 12);
  context.lineTo(x - 6, axis.top + 12);
  context.fill();
  for (const { frequencyHz, factor } of look.makers) {
    const maker = placed.find(({ mast }) => mast.frequencyHz === frequencyHz && mast.look !== "spare");
    if (maker !== undefined) paintMaker(context, maker, factor, ink);
  }
}

function paintMaker(context: CanvasRenderingContext2D, { x, lane }: Placed, factor: number, ink: LanesInk): void {
  const y = lane.top + lane.height * (factor < 0 ? 0.68 : 0.4);
  context.fillStyle = ink.text;
  context.beginPath();
  context.arc(x, y, 13, 0, 2 * Math.PI);
  context.fill();
  context.fillStyle = ink.ground;
  context.font = `700 15px ${ink.font}`;
  context.textAlign = "center";
  context.textBaseline = "middle";
  const sign = factor < 0 ? "\u2212" : "+";
  context.fillText(Math.abs(factor) === 1 ? sign : `${sign}${Math.abs(factor)}`, x, y + 1);
}
