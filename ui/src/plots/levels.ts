import { columnLevels, type Span, type Stretch } from "../pure/spectrum";

const MOST_DBM = -20;
const LEAST_DBM = -120;
const GRID_DB = 20;

export interface LevelsInk {
  readonly ground: string;
  readonly grid: string;
  readonly band: string;
  readonly line: string;
}

/** Reads the inks from the element's custom properties. */
export function readLevelsInk(element: Element): LevelsInk {
  const style = getComputedStyle(element);
  const of = (name: string) => style.getPropertyValue(name).trim();
  return {
    ground: of("--strand-ground"),
    grid: of("--strand-grid"),
    band: of("--strand-band"),
    line: of("--strand-line"),
  };
}

/** Draws what a scan found so far across the span that it was asked for; what wasn't measured yet stays empty. */
export function paintLevels(
  canvas: HTMLCanvasElement,
  stretches: readonly Stretch[],
  span: Span,
  ink: LevelsInk,
): void {
  const context = canvas.getContext("2d");
  if (context === null) return;
  const { width, height } = canvas;
  const at = (level: number) =>
    ((MOST_DBM - Math.min(Math.max(level, LEAST_DBM), MOST_DBM)) / (MOST_DBM - LEAST_DBM)) * height;
  context.fillStyle = ink.ground;
  context.fillRect(0, 0, width, height);
  context.fillStyle = ink.grid;
  for (let level = MOST_DBM - GRID_DB; level > LEAST_DBM; level -= GRID_DB) context.fillRect(0, at(level), width, 1);
  const levels = columnLevels(stretches, span, width);
  for (const [column, level] of levels.entries()) {
    if (Number.isNaN(level)) continue;
    context.fillStyle = ink.band;
    context.fillRect(column, at(level), 1, height - at(level));
    context.fillStyle = ink.line;
    context.fillRect(column, at(level) - 1, 1, 2);
  }
}
