/** The colours of the spectrum; grey but for what needs somebody. */
export interface SpectrumInk {
  readonly ground: string;
  readonly sunken: string;
  readonly rule: string;
  readonly edge: string;
  readonly text: string;
  readonly soft: string;
  readonly mark: string;
  readonly trough: string;
  /** What was the strongest once, and what was there half of the time. */
  readonly once: string;
  readonly steady: string;
  readonly line: string;
  readonly often: string;
  readonly asks: string;
  readonly font: string;
}

const TOKENS: Readonly<Record<keyof SpectrumInk, string>> = {
  ground: "--ground",
  sunken: "--strand-ground",
  rule: "--strand-grid",
  edge: "--edge",
  text: "--text",
  soft: "--text-soft",
  mark: "--mark",
  trough: "--trough",
  once: "--strand-band",
  steady: "--strand-hair",
  line: "--strand-line",
  often: "--strand-speech",
  asks: "--priority-2",
  font: "--font",
};

/** Reads the inks from the element's custom properties. */
export function readSpectrumInk(element: Element): SpectrumInk {
  const style = getComputedStyle(element);
  const entries = Object.entries(TOKENS).map(([name, token]) => [name, style.getPropertyValue(token).trim()]);
  return Object.fromEntries(entries) as unknown as SpectrumInk;
}
