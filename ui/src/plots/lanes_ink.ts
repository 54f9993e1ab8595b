/** The colours of the lanes: greys, and one of a priority for what breaks a rule. */
export interface LanesInk {
  readonly ground: string;
  readonly lane: string;
  readonly closed: string;
  readonly hatch: string;
  readonly grid: string;
  readonly rule: string;
  readonly plinth: string;
  readonly guard: string;
  readonly mast: string;
  readonly faint: string;
  readonly text: string;
  readonly soft: string;
  readonly third: string;
  readonly thirdMost: string;
  readonly fifth: string;
  readonly fifthMost: string;
  readonly select: string;
  readonly broken: string;
  readonly onBroken: string;
  readonly font: string;
}

const TOKENS: Readonly<Record<Exclude<keyof LanesInk, "font">, string>> = {
  ground: "--ground",
  lane: "--strand-ground",
  closed: "--sunken",
  hatch: "--rule",
  grid: "--strand-grid",
  rule: "--rule",
  plinth: "--trough",
  guard: "--strand-band",
  mast: "--mark",
  faint: "--mark-soft",
  text: "--text",
  soft: "--text-soft",
  third: "--strand-speech",
  thirdMost: "--strand-band",
  fifth: "--strand-band",
  fifthMost: "--trough",
  select: "--select",
  broken: "--priority-2",
  onBroken: "--on-priority",
};

/** The lanes' colours from the tokens that hold for an element. */
export function readLanesInk(element: Element): LanesInk {
  const style = getComputedStyle(element);
  const inks = Object.entries(TOKENS).map(([name, token]) => [name, style.getPropertyValue(token).trim() || "#808080"]);
  return { ...Object.fromEntries(inks), font: style.fontFamily } as LanesInk;
}
