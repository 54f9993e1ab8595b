import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query } from "lit/decorators.js";
import { aheadWords } from "../words/ahead_words";
import type { RedpollHold } from "./hold";
import "./hold";

/** A cue on the axis, as shares of its width. */
export interface AheadCue {
  readonly left: number;
  readonly width: number;
  readonly name: string;
  readonly clock: string;
  readonly current: boolean;
}

/** Something that asks, or soon will: where it stands on the axis, and in which lane. */
export interface AheadLabel {
  readonly left: number;
  readonly lane: number;
  readonly text: string;
  readonly asks: boolean;
}

export interface AheadFacts {
  /** The show clock's revision, which a step names. */
  readonly revision: number;
  /** What holding the button does; empty where nothing can be done. */
  readonly advance: string;
  readonly back: string;
  /** Who is due next, and then. */
  readonly dues: readonly (readonly [string, string])[];
  readonly cues: readonly AheadCue[];
  readonly labels: readonly AheadLabel[];
  /** Labels that found no place. */
  readonly more: number;
}

/** The evening ahead, now at the left. Event: `redpoll-show-step` with the step and the revision that was seen. */
@customElement("redpoll-ahead")
export class RedpollAhead extends LitElement {
  static override styles = css`
    :host { display: grid; grid-template-columns: var(--ahead-left, 610px) minmax(0, 1fr) 14px; gap: 0 14px; padding: 6px 0 6px 16px; border-top: 1px solid var(--rule); min-width: 0; }
    :host([hidden]) { display: none; }
    .said { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 2px 14px; align-content: center; }
    dl { margin: 0; display: grid; grid-template-columns: auto minmax(0, 1fr); gap: 2px 10px; align-content: center; }
    dt { color: var(--text-soft); }
    dd { margin: 0; overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
    .steps { display: flex; gap: 8px; align-items: center; max-width: 290px; --hold-size: 15px; }
    .axis { position: relative; min-width: 0; }
    .cues { position: relative; height: 40px; border-bottom: 1px solid var(--rule); }
    .cue { position: absolute; top: 0; bottom: 0; box-sizing: border-box; border-left: 2px solid var(--edge); padding: 0 0 0 6px; overflow: hidden; white-space: nowrap; line-height: 20px; }
    .cue b { display: block; font-weight: 600; overflow: hidden; text-overflow: ellipsis; }
    .cue span { color: var(--text-soft); }
    .cue.current { background: var(--select); border-left-color: var(--text); }
    .cue.tight { padding: 0; }
    .cue.tight b, .cue.tight span { visibility: hidden; }
    .lanes { position: relative; }
    .label { position: absolute; max-width: 50%; box-sizing: border-box; padding: 0 6px; border-left: 2px solid var(--edge); color: var(--text-soft); white-space: nowrap; overflow: hidden; text-overflow: ellipsis; line-height: 22px; }
    .label.asks { color: var(--text); border-left: 6px solid var(--text); font-weight: 600; }
    .more { color: var(--text-soft); text-align: right; }
    @media (max-width: 1500px) {
      :host { grid-template-columns: var(--ahead-left, 486px) minmax(0, 1fr) 10px; gap: 0 8px; padding-left: 10px; }
      .steps { max-width: 170px; }
      #back { display: none; }
    }
    @media (min-width: 761px) and (max-height: 800px) {
      :host { padding-top: 1px; padding-bottom: 0; }
      .steps { --hold-padding: 1px 10px; }
    }
    @media (max-width: 760px) {
      :host { grid-template-columns: minmax(0, 1fr); padding: 4px 10px; }
      .said { grid-template-columns: minmax(0, 1fr); }
      .cues { display: none; }
      .steps { max-width: none; }
      #back { display: block; }
      dd { white-space: normal; }
      .lanes { height: auto !important; }
      .label { position: static; display: block; max-width: none; white-space: normal; }
      .label:not(.asks) { display: none; }
    }
  `;

  @property({ attribute: false }) facts: AheadFacts | null = null;
  @query("#advance") private readonly advance?: RedpollHold;
  @query("#back") private readonly back?: RedpollHold;

  override render() {
    const facts = this.facts;
    if (facts === null) return nothing;
    const lanes = Math.max(0, ...facts.labels.map((label) => label.lane + 1));
    return html`<div class="said" role="group" aria-label=${aheadWords.band}>
        <dl>${facts.dues.map(([when, text]) => html`<dt>${when}</dt><dd title=${text}>${text}</dd>`)}</dl>
        <div class="steps">${this.renderStep("back", facts.back)}${this.renderStep("advance", facts.advance)}</div>
      </div>
      <div class="axis">
        ${facts.cues.length === 0 ? nothing : html`<div class="cues">${facts.cues.map(renderCue)}</div>`}
        <div class="lanes" data-lanes=${lanes}>${facts.labels.map(renderLabel)}</div>
        ${facts.more === 0 ? nothing : html`<div class="more">${aheadWords.more(facts.more)}</div>`}
      </div>`;
  }

  /** Styles are set here and not in the template, which the page's policy forbids. */
  override updated() {
    const facts = this.facts;
    if (facts === null) return;
    place(this.renderRoot, ".cue", facts.cues, ({ left, width }) => ({ left: percent(left), width: percent(width) }));
    place(this.renderRoot, ".label", facts.labels, ({ left, lane }) => ({
      left: percent(left),
      top: `${lane * LANE_PX}px`,
    }));
    const lanes = this.renderRoot.querySelector<HTMLElement>(".lanes");
    if (lanes !== null) lanes.style.height = `${Number(lanes.dataset["lanes"]) * LANE_PX}px`;
  }

  /** Begins to hold a step, as its key goes down; says whether there is such a step now. */
  press(step: "advance" | "back"): boolean {
    const hold = step === "advance" ? this.advance : this.back;
    hold?.press();
    return hold !== undefined;
  }

  /** The key went up. */
  letGo(): void {
    this.advance?.letGo();
    this.back?.letGo();
  }

  private renderStep(step: "advance" | "back", label: string) {
    if (label === "") return nothing;
    return html`<redpoll-hold id=${step} .label=${label} @redpoll-held=${() => this.tell(step)}></redpoll-hold>`;
  }

  private tell(step: "advance" | "back"): void {
    const detail = { step, revision: this.facts?.revision ?? 0 };
    this.dispatchEvent(new CustomEvent("redpoll-show-step", { detail, bubbles: true, composed: true }));
  }
}

const TIGHT = 0.03;
const LANE_PX = 22;

function percent(share: number): string {
  return `${share * 100}%`;
}

function place<T>(
  root: HTMLElement | DocumentFragment,
  selector: string,
  all: readonly T[],
  where: (one: T) => object,
) {
  for (const [index, element] of root.querySelectorAll<HTMLElement>(selector).entries()) {
    const one = all[index];
    if (one !== undefined) Object.assign(element.style, where(one));
  }
}

function renderCue(cue: AheadCue) {
  const classes = `cue${cue.current ? " current" : ""}${cue.width < TIGHT ? " tight" : ""}`;
  return html`<div class=${classes} title="${cue.clock} ${cue.name}">
    <b>${cue.name}</b><span>${cue.current ? aheadWords.now : cue.clock}</span></div>`;
}

function renderLabel(label: AheadLabel) {
  return html`<div class="label ${label.asks ? "asks" : ""}" title=${label.text}>${label.text}</div>`;
}
