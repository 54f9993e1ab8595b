import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { BandSource, PlanFault, Relaxation } from "../protocol/model";
import { megahertz } from "../pure/number_words";
import { chartWords } from "../words/chart_words";
import "./mark";
import { railStyles } from "./rail_styles";

/** One carrier or spare as a line. `index` is that of its mast. */
export interface FoundLine {
  readonly index: number;
  readonly frequencyHz: number;
  readonly words: string;
  /** How it is held, in a word; it shows as the mark that it bears in its lane. */
  readonly held: string;
  readonly broken: boolean;
}

export interface FoundFacts {
  readonly groups: readonly { readonly name: string; readonly words: string; readonly lines: readonly FoundLine[] }[];
  readonly spares: readonly FoundLine[];
  readonly faults: readonly PlanFault[];
  /** How many stand of those asked for, where not all do and a search has ended. */
  readonly cant: { readonly stand: number; readonly asked: number } | null;
  readonly relaxations: readonly Relaxation[];
  readonly bands: readonly BandSource[];
  readonly again: string;
}

/** What was found: what it breaks, why not all fit, carriers by group, spares, sources. Event: `redpoll-lane-pick`. */
@customElement("redpoll-plan-found")
export class RedpollPlanFound extends LitElement {
  static override styles = [
    railStyles,
    css`
      .asks { border-left: 4px solid var(--text); padding: 2px 0 2px 12px; margin: 4px 0 12px; }
      .asks h2 { margin: 0 0 4px; }
      .asks li { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 12px; padding: 3px 0; }
      .asks b { font-weight: 650; }
      .faults li { grid-template-columns: 22px minmax(0, 1fr) auto; align-items: center; }
      .lines { display: grid; grid-template-columns: repeat(auto-fill, minmax(6.6em, 1fr)); gap: 0 6px; }
      .lines.wide { grid-template-columns: minmax(0, 1fr); }
      button { border: 0; padding: 0 6px; min-height: 30px; text-align: left; display: flex; align-items: center; gap: 8px; }
      button[aria-pressed="true"] { font-weight: 650; }
      button .soft { overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
      button[aria-pressed="true"] .soft { color: inherit; }
      .held { width: 8px; height: 8px; background: currentColor; }
      redpoll-mark { --mark-size: 18px; }
    `,
  ];

  @property({ attribute: false }) facts: FoundFacts | null = null;
  @property({ type: Number }) picked = -1;

  override render() {
    const facts = this.facts;
    if (facts === null) return nothing;
    return html`${renderFaults(facts.faults)}${renderCant(facts)}
      ${facts.groups.map((group) => html`<h2>${group.name} <span class="soft">${group.words}</span></h2>${this.renderLines(group.lines, "lines")}`)}
      ${facts.spares.length === 0 ? nothing : html`<h2>${chartWords.sparesTitle}</h2>${this.renderLines(facts.spares, "lines wide")}`}
      ${renderBands(facts.bands)}
      ${facts.again === "" ? nothing : html`<p class="soft">${facts.again}</p>`}`;
  }

  private renderLines(lines: readonly FoundLine[], name: string) {
    return html`<div class=${name}>${lines.map(
      (line) => html`<button aria-pressed=${line.index === this.picked} @click=${() => this.pick(line.index)}>
        ${line.broken ? html`<redpoll-mark .priority=${2}></redpoll-mark>` : nothing}<span>${megahertz(line.frequencyHz)}</span>${line.held === "" ? nothing : html`<i class="held" role="img" aria-label=${line.held} title=${line.held}></i>`}
        ${line.words === "" ? nothing : html`<span class="soft">${line.words}</span>`}</button>`,
    )}</div>`;
  }

  private pick(index: number): void {
    const detail = index === this.picked ? -1 : index;
    this.dispatchEvent(new CustomEvent("redpoll-lane-pick", { detail, bubbles: true, composed: true }));
  }
}

const FAULTS_SHOWN = 20;

function renderFaults(faults: readonly PlanFault[]) {
  if (faults.length === 0) return nothing;
  return html`<section class="asks"><h2>${chartWords.faults}</h2><ul class="faults">${faults.slice(0, FAULTS_SHOWN).map(
    (
      fault,
    ) => html`<li><redpoll-mark .priority=${2}></redpoll-mark><span>${megahertz(fault.frequency_hz)} ${fault.rule}</span>
      <span>${fault.short_db > 0 ? chartWords.shortDb(fault.short_db.toFixed(1)) : chartWords.short(`${fault.short_hz / 1e3}`)}</span></li>`,
  )}</ul>${faults.length > FAULTS_SHOWN ? html`<p>${chartWords.moreFaults(faults.length - FAULTS_SHOWN)}</p>` : nothing}</section>`;
}

function renderCant({ cant, relaxations }: FoundFacts) {
  if (cant === null) return nothing;
  return html`<section class="asks"><h2>${chartWords.cantTitle}</h2><p>${chartWords.cant(cant.stand, cant.asked)}</p>
    ${
      relaxations.length === 0
        ? html`<p class="soft">${chartWords.noRelaxation}</p>`
        : html`<ul>${relaxations.map((one) => html`<li><span>${one.words}</span><b>${chartWords.gain(one.gain)}</b></li>`)}</ul>`
    }</section>`;
}

function renderBands(bands: readonly BandSource[]) {
  return html`<h2>${chartWords.sources}</h2>
    ${bands.length === 0 ? html`<p class="soft">${chartWords.noSources}</p>` : nothing}
    <ul class="soft">${bands.map((one) => html`<li>${[one.words, one.source, one.dated, one.unverified ? chartWords.unverified : ""].filter(Boolean).join(" · ")}</li>`)}</ul>`;
}
