import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { contrast, parseColour, type Rgb } from "../pure/contrast";

const SHEET = readFileSync(new URL("./tokens.css", import.meta.url), "utf8");
const THEMES = ["dark", "light"] as const;
const TEXT_LEAST = 4.5;
const MARK_LEAST = 3;

/** Text on what it may stand on; WCAG 2.2, 1.4.3. */
const TEXTS: readonly [string, string][] = ["text", "text-soft"].flatMap((text) =>
  ["ground", "raised", "sunken", "select", "tint-1", "tint-2", "tint-3"].map((ground): [string, string] => [
    text,
    ground,
  ]),
);
/** Marks that carry meaning on what they stand on; WCAG 2.2, 1.4.11. */
const MARKS: readonly [string, string][] = [
  ["mark", "ground"],
  ["mark", "trough"],
  ["mark", "select"],
  ["mark-soft", "ground"],
  ["mark-soft", "select"],
  ["edge", "ground"],
  ["edge", "raised"],
  ["edge", "sunken"],
  ["focus", "ground"],
  ["focus", "select"],
  ["priority-1", "ground"],
  ["priority-2", "ground"],
  ["priority-3", "ground"],
  ["priority-1", "tint-1"],
  ["priority-2", "tint-2"],
  ["priority-3", "tint-3"],
  ["strand-line", "strand-band"],
  ["strand-line", "strand-ground"],
  ["strand-speech", "strand-ground"],
  ["strand-hair", "strand-band"],
  ["strand-damage", "strand-ground"],
  ["strand-damage", "strand-band"],
  ["strand-gap", "strand-ground"],
  ["strand-deaf", "strand-ground"],
];

/** The tokens of a theme, with those that a palette puts in their place. */
function tokensOf(theme: string, palette: string): Map<string, Rgb> {
  const own = blockOf(`[data-theme="${theme}"]`);
  return palette === "" ? own : new Map([...own, ...blockOf(`[data-theme="${theme}"][data-palette="${palette}"]`)]);
}

function blockOf(selector: string): Map<string, Rgb> {
  const start = SHEET.indexOf(`:root${selector} {`);
  if (start === -1) throw new Error(`the sheet has no ${selector}`);
  const block = SHEET.slice(start, SHEET.indexOf("}", start));
  const pairs = [...block.matchAll(/--([a-z0-9-]+): (#[0-9a-f]{6});/g)];
  return new Map(pairs.map((pair) => [pair[1] ?? "", parseColour(pair[2] ?? "")]));
}

function pick(tokens: Map<string, Rgb>, name: string): Rgb {
  const found = tokens.get(name);
  if (found === undefined) throw new Error(`there is no token --${name}`);
  return found;
}

const LOOKS = THEMES.flatMap((theme) =>
  ["", "no-red"].map((palette): [string, Map<string, Rgb>] => [`${theme} ${palette}`.trim(), tokensOf(theme, palette)]),
);

for (const [theme, tokens] of LOOKS) {
  const ratio = (one: string, other: string) => contrast(pick(tokens, one), pick(tokens, other));

  test.each(TEXTS)(`${theme}: %s on %s is legible`, (text, ground) => {
    expect(ratio(text, ground)).toBeGreaterThanOrEqual(TEXT_LEAST);
  });

  test.each(MARKS)(`${theme}: %s on %s can be told apart`, (mark, ground) => {
    expect(ratio(mark, ground)).toBeGreaterThanOrEqual(MARK_LEAST);
  });

  test.each([1, 2, 3])(`${theme}: the number within the mark of priority %s is legible`, (priority) => {
    expect(ratio("on-priority", `priority-${priority}`)).toBeGreaterThanOrEqual(TEXT_LEAST);
  });

  test(`${theme}: at rest nothing has a saturated colour`, () => {
    for (const [name, [red, green, blue]] of tokens) {
      if (name.startsWith("priority") || name.startsWith("tint")) continue;
      expect(Math.max(red, green, blue) - Math.min(red, green, blue), name).toBeLessThanOrEqual(24);
    }
  });
}

test("without red, no priority is red: blue is at least as strong in the first", () => {
  for (const theme of THEMES) {
    const [red, , blue] = pick(tokensOf(theme, "no-red"), "priority-1");
    expect(blue).toBeGreaterThan(red);
  }
});
