import { css, html, LitElement } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { words } from "../words/english";

type KeyList = readonly (readonly [string, string])[];

/** The list of keys, and the choice of colours. It closes by Escape. Event: `redpoll-palette`. */
@customElement("redpoll-keys")
export class RedpollKeys extends LitElement {
  static override styles = css`
    dialog { border: 1px solid var(--edge); background: var(--raised); color: var(--text); padding: 24px 32px; max-width: 92vw; max-height: 92vh; overflow-y: auto; font: inherit; }
    dialog::backdrop { background: rgb(0 0 0 / 55%); }
    h2 { margin: 0 0 16px; font-size: 19px; }
    dl { display: grid; grid-template-columns: auto 1fr; gap: 8px 24px; margin: 0 0 20px; }
    dt { font-weight: 650; white-space: pre; }
    dd { margin: 0; color: var(--text-soft); }
    button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 8px 20px; min-height: 44px; cursor: pointer; }
    button[aria-pressed="true"] { background: var(--text); color: var(--ground); }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  `;

  @property({ type: Boolean }) withoutRed = false;
  @state() private here: KeyList = [];
  @query("dialog") private readonly dialog?: HTMLDialogElement;

  get shown(): boolean {
    return this.dialog?.open ?? false;
  }

  /** Opens the list, with the keys that act on the screen behind it above all others. */
  show(here: KeyList = words.watchKeys): void {
    this.here = here;
    this.dialog?.showModal();
  }

  hide(): void {
    this.dialog?.close();
  }

  private changePalette(): void {
    this.dispatchEvent(new CustomEvent("redpoll-palette", { bubbles: true, composed: true }));
  }

  override render() {
    return html`<dialog aria-labelledby="title">
      <h2 id="title">${words.keysTitle}</h2>
      <dl>${[...this.here, ...words.keyList].map(([key, meaning]) => html`<dt>${key}</dt><dd>${meaning}</dd>`)}</dl>
      <button aria-pressed=${this.withoutRed} @click=${this.changePalette}>${words.withoutRed}</button>
      <button @click=${this.hide}>${words.keysClose}</button>
    </dialog>`;
  }
}
