import { css, html, LitElement } from "lit";
import { customElement, property } from "lit/decorators.js";
import { stageWords } from "../words/stage_words";

type Named = keyof typeof stageWords.names;

/** The row of stages, each with its plain word. They are links into the page, so that they open as any link does. */
@customElement("redpoll-stages")
export class RedpollStages extends LitElement {
  static override styles = css`
    :host { display: block; min-width: 0; }
    nav { display: flex; height: 100%; }
    a {
      display: flex;
      align-items: center;
      gap: 8px;
      padding: 0 12px;
      min-height: 38px;
      color: var(--text-soft);
      text-decoration: none;
      font-weight: 600;
      white-space: nowrap;
    }
    a:hover { color: var(--text); }
    a[aria-current="page"] { color: var(--text); box-shadow: inset 0 -3px 0 var(--text); }
    a:focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
    .plain { color: var(--text-soft); font-weight: 400; }
    @media (pointer: coarse) { a { min-height: 44px; } }
    @media (max-width: 760px) {
      a { flex: 1; flex-direction: column; justify-content: center; gap: 0; min-height: 46px; padding: 2px 4px 5px; line-height: 1.15; }
    }
  `;

  @property() current: Named = "heed";

  override render() {
    const stages = Object.entries(stageWords.names);
    return html`<nav aria-label=${stageWords.label}>
      ${stages.map(
        ([stage, { name, plain }]) =>
          html`<a href="#${stage}" aria-current=${stage === this.current ? "page" : "false"}>${name} <span class="plain">${plain}</span></a>`,
      )}
    </nav>`;
  }
}
