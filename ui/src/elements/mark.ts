import { css, html, LitElement, nothing, svg } from "lit";
import { customElement, property } from "lit/decorators.js";
import { words } from "../words/english";

const SHAPES = [
  svg`<rect x="3" y="3" width="18" height="18" rx="1.5" />`,
  svg`<path d="M12 1.8 23 21.6H1Z" />`,
  svg`<circle cx="12" cy="12" r="9.6" />`,
];

/** A priority as shape, number and colour: 1 a square, 2 a triangle, 3 a disc; hollow once acknowledged. */
@customElement("redpoll-mark")
export class RedpollMark extends LitElement {
  static override styles = css`
    :host {
      display: inline-block;
      width: var(--mark-size, 20px);
      height: var(--mark-size, 20px);
    }
    svg {
      display: block;
      width: 100%;
      height: 100%;
      overflow: visible;
    }
    .one { color: var(--priority-1); }
    .two { color: var(--priority-2); }
    .three { color: var(--priority-3); }
    .shape { fill: currentColor; stroke: currentColor; stroke-width: 2; stroke-linejoin: round; }
    .hollow .shape { fill: var(--ground); }
    text { font: 700 14px var(--font); text-anchor: middle; fill: var(--on-priority); }
    .hollow text { fill: var(--text); }
  `;

  @property({ type: Number }) priority = 0;
  @property({ type: Boolean }) hollow = false;

  override render() {
    const name = ["one", "two", "three"][this.priority - 1];
    if (name === undefined) return nothing;
    const label = this.hollow
      ? `${words.priority(this.priority)}, ${words.acknowledged}`
      : words.priority(this.priority);
    return html`<svg viewBox="0 0 24 24" role="img" aria-label=${label} class="${name} ${this.hollow ? "hollow" : ""}">
      <g class="shape">${SHAPES[this.priority - 1]}</g>
      <text x="12" y=${this.priority === 2 ? 19 : 17}>${this.priority}</text>
    </svg>`;
  }
}
