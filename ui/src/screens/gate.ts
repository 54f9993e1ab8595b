import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { words } from "../words/english";

/** What is shown to somebody without a session: how to come by a link. */
@customElement("redpoll-gate")
export class RedpollGate extends LitElement {
  static override styles = css`
    :host { display: grid; place-content: center; height: 100%; padding: 24px; }
    main { max-width: 34em; }
    .name { color: var(--text-soft); font-weight: 600; }
    h1 { margin: 4px 0 20px; font-size: 26px; }
    ol { padding-left: 1.3em; line-height: 1.6; font-size: 17px; }
    .said { color: var(--text-soft); }
  `;

  @property() reason = "";

  override render() {
    return html`<main>
      <span class="name">${words.product}</span>
      <h1>${words.gate.title}</h1>
      <ol>${words.gate.steps.map((step) => html`<li>${step}</li>`)}</ol>
      ${this.reason === "" ? nothing : html`<p class="said">${words.gate.said(this.reason)}</p>`}
    </main>`;
  }
}
