export type Theme = "dark" | "light";

const KEY = "redpoll-theme";

/** The theme chosen on this machine, else the one its people prefer everywhere. */
export function initialTheme(): Theme {
  const chosen = localStorage.getItem(KEY);
  if (chosen === "dark" || chosen === "light") return chosen;
  return matchMedia("(prefers-color-scheme: light)").matches ? "light" : "dark";
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
