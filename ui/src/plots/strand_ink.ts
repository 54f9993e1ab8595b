import { parseColour } from "../pure/contrast";

/** Colours as they lie in the memory of a canvas: alpha, blue, green, red from the highest byte down. */
export interface StrandInk {
  readonly ground: number;
  readonly band: number;
  readonly hair: number;
  readonly line: number;
  readonly speech: number;
  readonly damage: number;
  readonly gap: number;
  readonly grid: number;
  readonly deaf: number;
}

const TOKENS: Readonly<Record<keyof StrandInk, string>> = {
  ground: "--strand-ground",
  band: "--strand-band",
  hair: "--strand-hair",
  line: "--strand-line",
  speech: "--strand-speech",
  damage: "--strand-damage",
  gap: "--strand-gap",
  grid: "--strand-grid",
  deaf: "--strand-deaf",
};

/** The strand's colours from the tokens that hold for an element. */
export function readInk(element: Element): StrandInk {
  const style = getComputedStyle(element);
  const entries = Object.entries(TOKENS).map(([name, token]) => [name, packed(style.getPropertyValue(token))]);
  return Object.fromEntries(entries) as unknown as StrandInk;
}

function packed(text: string): number {
  const [red, green, blue] = parseColour(text === "" ? "#808080" : text);
  return ((255 << 24) | (blue << 16) | (green << 8) | red) >>> 0;
}

/** A colour between two, 0 the first, 1 the second. Called for many pixels, so it works on bytes and makes nothing. */
export function mixed(one: number, other: number, share: number): number {
  const red = one & 255;
  const green = (one >>> 8) & 255;
  const blue = (one >>> 16) & 255;
  const mixedRed = red + ((other & 255) - red) * share;
  const mixedGreen = green + (((other >>> 8) & 255) - green) * share;
  const mixedBlue = blue + (((other >>> 16) & 255) - blue) * share;
  return (0xff000000 | (mixedBlue << 16) | (mixedGreen << 8) | mixedRed) >>> 0;
}
