import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { words } from "../words/english";

/**
 * The head of every screen: production, simulated badge, person, clock, and the row of stages, which is given as its
 * child: under it where there is room, in one line with it on low screens. Events: `redpoll-theme`, `redpoll-account`.
 */
@customElement("redpoll-top")
export class RedpollTop extends LitElement {
  static override styles = css`
    :host {
      display: flex;
      flex-wrap: wrap;
      align-items: center;
      gap: 0 20px;
      padding: 0 16px;
      min-width: 0;
      border-bottom: 1px solid var(--rule);
      white-space: nowrap;
    }
    h1 { margin: 0; line-height: 46px; font-size: 19px; font-weight: 680; overflow: hidden; text-overflow: ellipsis; }
    ::slotted(*) { flex-basis: 100%; margin-left: -12px; }
    .person { color: var(--text-soft); font-weight: 400; }
    .place { overflow: hidden; text-overflow: ellipsis; min-width: 0; }
    .place:empty { display: none; }
    button.person { border-color: transparent; }
    .space { flex: 1; }
    .simulated { border: 1px dashed var(--text); padding: 2px 12px; font-weight: 600; letter-spacing: 0.06em; }
    button { font: inherit; color: var(--text-soft); background: none; border: 1px solid var(--edge); padding: 3px 10px; min-height: 26px; cursor: pointer; }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
    .clock { font-size: 22px; font-weight: 650; }
    @media (min-width: 761px) and (max-height: 899px) {
      :host { flex-wrap: nowrap; }
      .place, .space, .simulated, button, .clock { order: 2; }
      ::slotted(*) { order: 1; flex: none; align-self: stretch; margin: 0; }
      h1 { line-height: 40px; }
      .place { flex-shrink: 100; }
    }
    @media (max-width: 760px) {
      :host { gap: 0 10px; padding: 0 10px; }
      .person { display: none; }
      h1 { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
      h1:has(+ .place:empty) { position: static; width: auto; height: auto; clip-path: none; font-size: 15px; flex: 1; min-width: 0; white-space: normal; line-height: 1.15; }
      ::slotted(*) { margin: 0 -10px; flex-basis: calc(100% + 20px); }
      .place { flex: 1; white-space: normal; line-height: 1.15; }
      .space { display: none; }
      .simulated { padding: 1px 6px; letter-spacing: 0; }
      button { min-height: 44px; min-width: 44px; border: none; padding: 0 4px; }
      .clock { font-size: 17px; }
    }
  `;

  @property() production = "";
  /** Where in the running order, and how late; empty without one. */
  @property() place = "";
  @property({ type: Boolean }) simulated = false;
  @property() person = "";
  @property() standing = "";
  @property() clock = "";
  @property() nextTheme: "dark" | "light" = "light";

  override render() {
    const next = words.theme[this.nextTheme];
    return html`<h1>${this.production || words.noProduction}</h1>
      <span class="place">${this.place}</span>
      <span class="space"></span>
      ${this.simulated ? html`<span class="simulated">${words.simulated}</span>` : nothing}
      <button class="person" aria-haspopup="dialog" @click=${this.openAccount}>${words.you(this.person, this.standing)}</button>
      <button aria-label=${words.theme.label(next)} @click=${this.changeTheme}>${next}</button>
      <time class="clock">${this.clock}</time>
      <slot></slot>`;
  }

  private openAccount(): void {
    this.dispatchEvent(new CustomEvent("redpoll-account", { bubbles: true, composed: true }));
  }

  private changeTheme(): void {
    this.dispatchEvent(new CustomEvent("redpoll-theme", { bubbles: true, composed: true }));
  }
}
