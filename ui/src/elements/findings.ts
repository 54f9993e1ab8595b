import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { Span } from "../pure/spectrum";

/** One thing that stands in the spectrum, or that changed in it. */
export interface Finding extends Span {
  /** `up` and `down` are shapes: came or louder, went or quieter. */
  readonly mark: "up" | "down" | "none";
  /** Whether it came or went, and isn't only louder or quieter. */
  readonly strong: boolean;
  readonly where: string;
  readonly what: string;
  readonly beside: string;
}

/** What a scan shows, in sentences and as a list; each line can be looked at. Event: `redpoll-stretch-look`. */
@customElement("redpoll-findings")
export class RedpollFindings extends LitElement {
  static override styles = css`
    :host { display: block; }
    p { margin: 0 0 6px; }
    ol { margin: 6px 0 0; padding: 0; list-style: none; columns: var(--finding-columns, 1); column-gap: 24px; }
    li { break-inside: avoid; }
    button { display: grid; grid-template-columns: 18px minmax(0, max-content) 1fr auto; gap: 0 10px; align-items: baseline; width: 100%; font: inherit; color: var(--text); background: none; border: 0; border-bottom: 1px solid var(--rule); padding: 4px 0; min-height: 32px; text-align: left; cursor: pointer; }
    button:hover { background: var(--select); }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
    svg { width: 12px; height: 12px; align-self: center; overflow: visible; }
    path { fill: none; stroke: var(--mark); stroke-width: 1.5; }
    .strong path { fill: var(--mark); }
    .what { text-align: right; }
    .beside { color: var(--text-soft); overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
    .more { color: var(--text-soft); margin: 6px 0 0; }
    @media (max-width: 760px), (pointer: coarse) { button { min-height: 44px; } ol { columns: 1; } }
  `;

  @property({ attribute: false }) sentences: readonly string[] = [];
  @property({ attribute: false }) lines: readonly Finding[] = [];
  /** What is said below the list; empty for nothing. */
  @property() more = "";

  override render() {
    return html`${this.sentences.map((sentence) => html`<p>${sentence}</p>`)}
      <ol>${this.lines.map((line) => this.renderLine(line))}</ol>
      ${this.more === "" ? nothing : html`<p class="more">${this.more}</p>`}`;
  }

  private renderLine(line: Finding) {
    const look = () => {
      const detail: Span = { fromHz: line.fromHz, toHz: line.toHz };
      this.dispatchEvent(new CustomEvent("redpoll-stretch-look", { detail, bubbles: true, composed: true }));
    };
    return html`<li><button class=${line.strong ? "strong" : ""} @click=${look}>
      ${renderMark(line.mark)}<span>${line.where}</span><span class="beside">${line.beside}</span><span class="what">${line.what}</span>
    </button></li>`;
  }
}

function renderMark(mark: Finding["mark"]) {
  if (mark === "none") return html`<span></span>`;
  const shape = mark === "up" ? "M6 1 L11.5 11 H0.5 Z" : "M6 11 L11.5 1 H0.5 Z";
  return html`<svg viewBox="0 0 12 12" aria-hidden="true"><path d=${shape}></path></svg>`;
}
