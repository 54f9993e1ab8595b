export type Theme = "dark" | "light";

export type Palette = "all" | "no-red";

const KEY = "redpoll-theme";
const PALETTE_KEY = "redpoll-palette";

/** The theme chosen on this machine, else the one its people prefer everywhere. */
export function initialTheme(): Theme {
  const chosen = localStorage.getItem(KEY);
  if (chosen === "dark" || chosen === "light") return chosen;
  return matchMedia("(prefers-color-scheme: light)").matches ? "light" : "dark";
}

/** Whether somebody chose a theme on this machine. */
export function themeIsChosen(): boolean {
  return localStorage.getItem(KEY) !== null;
}

/** Puts a theme into effect. */
export function applyTheme(theme: Theme): void {
  document.documentElement.dataset["theme"] = theme;
}

/** The other theme, kept for the next time. */
export function changeTheme(theme: Theme): Theme {
  const next = theme === "dark" ? "light" : "dark";
  localStorage.setItem(KEY, next);
  applyTheme(next);
  return next;
}

/** The palette chosen on this machine. */
export function initialPalette(): Palette {
  return localStorage.getItem(PALETTE_KEY) === "no-red" ? "no-red" : "all";
}

/** Puts a palette into effect. */
export function applyPalette(palette: Palette): void {
  document.documentElement.dataset["palette"] = palette;
}

/** The other palette, kept for the next time. */
export function changePalette(palette: Palette): Palette {
  const next = palette === "all" ? "no-red" : "all";
  localStorage.setItem(PALETTE_KEY, next);
  applyPalette(next);
  return next;
}
