/** Relative luminance and contrast as WCAG 2.2 defines them, for colours written `#rrggbb`. */

export type Rgb = readonly [red: number, green: number, blue: number];

/** Takes `#rrggbb` or `#rgb` apart into 0 to 255; throws RangeError for anything else. */
export function parseColour(text: string): Rgb {
  const digits = /^#([0-9a-f]{3}|[0-9a-f]{6})$/i.exec(text.trim())?.[1];
  if (digits === undefined) throw new RangeError(`${text} is not a colour written #rrggbb`);
  const wide = digits.length === 3 ? digits.replace(/./g, "$&$&") : digits;
  const part = (index: number) => Number.parseInt(wide.slice(index, index + 2), 16);
  return [part(0), part(2), part(4)];
}

function linear(channel: number): number {
  const share = channel / 255;
  return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
}

/** Relative luminance, 0 for black to 1 for white. */
export function luminance(colour: Rgb): number {
  return 0.2126 * linear(colour[0]) + 0.7152 * linear(colour[1]) + 0.0722 * linear(colour[2]);
}

/** The contrast ratio of two colours, 1 to 21. */
export function contrast(one: Rgb, other: Rgb): number {
  const [darker, lighter] = [luminance(one), luminance(other)].sort((a, b) => a - b) as [number, number];
  return (lighter + 0.05) / (darker + 0.05);
}
