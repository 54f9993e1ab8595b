import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";

/** One thing of an overview: what it is called, how much, what it does. */
export interface LineFacts {
  readonly address: string;
  readonly label: string;
  /** 0 to 1, NaN where it isn't known; null where there is nothing to measure. */
  readonly share: number | null;
  readonly figure: string;
  readonly said: readonly string[];
  readonly odd: boolean;
}

/** Parts of one kind as lines, each with its bar and its words. Event: `redpoll-part-open`. */
@customElement("redpoll-lines")
export class RedpollLines extends LitElement {
  static override styles = css`
    ul { display: grid; margin: 0; padding: 0; list-style: none; }
    button { display: grid; grid-template-columns: minmax(8em, 13em) 110px 5.5em minmax(0, 1fr); gap: 14px; align-items: center; width: 100%; min-height: 40px; padding: 4px 8px; font: inherit; text-align: left; color: var(--text); background: none; border: 0; border-bottom: 1px solid var(--rule); cursor: pointer; }
    button:hover { background: var(--select); }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
    .label { font-size: 17px; font-weight: 600; overflow-wrap: anywhere; }
    .bar { position: relative; height: 10px; background: var(--trough); }
    .bar i { position: absolute; inset: 0; background: var(--mark); transform: scaleX(var(--share)); transform-origin: left; }
    .bar.unknown { background: none; border: 1px dashed var(--edge); }
    .figure { text-align: right; font-variant-numeric: tabular-nums; }
    .said { color: var(--text-soft); }
    .odd .said { color: var(--text); font-weight: 650; }
    @media (max-width: 760px) { button { grid-template-columns: minmax(0, 1fr) 60px 4.5em; gap: 2px 10px; min-height: 52px; } .said { grid-column: 1 / -1; } }
  `;

  @property({ attribute: false }) lines: readonly LineFacts[] = [];

  override render() {
    return html`<ul>${repeat(
      this.lines,
      (line) => line.address,
      (line) => this.renderLine(line),
    )}</ul>`;
  }

  override updated() {
    for (const bar of this.renderRoot.querySelectorAll<HTMLElement>(".bar")) {
      const share = Number(bar.dataset["share"]);
      bar.style.setProperty("--share", `${Number.isNaN(share) ? 0 : share}`);
    }
  }

  private renderLine(line: LineFacts) {
    const bar =
      line.share === null
        ? html`<span></span>`
        : html`<span class="bar ${Number.isNaN(line.share) ? "unknown" : ""}" data-share=${line.share}><i></i></span>`;
    return html`<li><button class=${line.odd ? "odd" : ""} data-line=${line.address} @click=${() => this.open(line)}>
      <span class="label">${line.label}</span>${bar}<span class="figure">${line.figure}</span>
      ${line.said.length === 0 ? nothing : html`<span class="said">${line.said.join(" · ")}</span>`}
    </button></li>`;
  }

  private open(line: LineFacts): void {
    const detail = { address: line.address };
    this.dispatchEvent(new CustomEvent("redpoll-part-open", { detail, bubbles: true, composed: true }));
  }
}
