import { css, html, LitElement } from "lit";
import { customElement, property, query } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import { words } from "../words/english";
import type { SlotFacts } from "./strip";
import "./mark";

/** The matters that wait for a slot, listed without moving the slots. Event: `redpoll-slot-open`. Escape closes it. */
@customElement("redpoll-waiting")
export class RedpollWaiting extends LitElement {
  static override styles = css`
    dialog { width: min(640px, 94vw); max-height: 80vh; border: 1px solid var(--edge); background: var(--raised); color: var(--text); padding: 18px 22px; font: inherit; }
    dialog::backdrop { background: rgb(0 0 0 / 45%); }
    h2 { margin: 0 0 12px; font-size: 19px; }
    ul { margin: 0 0 16px; padding: 0; list-style: none; }
    .matter { display: grid; grid-template-columns: 26px minmax(0, 1fr); gap: 0 12px; align-items: center; width: 100%; padding: 8px 10px; font: inherit; text-align: left; color: var(--text); background: none; border: 0; border-bottom: 1px solid var(--rule); cursor: pointer; }
    .matter:hover { background: var(--select); }
    redpoll-mark { --mark-size: 24px; }
    strong { display: block; font-size: 17px; font-weight: 650; }
    .soft { color: var(--text-soft); }
    .close { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 8px 20px; min-height: 44px; cursor: pointer; }
    :is(button):focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
  `;

  @property({ attribute: false }) matters: readonly SlotFacts[] = [];
  @query("dialog") private readonly dialog?: HTMLDialogElement;

  get shown(): boolean {
    return this.dialog?.open ?? false;
  }

  show(): void {
    if (!this.shown) this.dialog?.showModal();
  }

  override render() {
    return html`<dialog aria-labelledby="title">
      <h2 id="title">${words.waitingTitle(this.matters.length)}</h2>
      <ul>${repeat(
        this.matters,
        (matter) => matter.matterId,
        (matter) => this.renderMatter(matter),
      )}</ul>
      <button class="close" @click=${() => this.dialog?.close()}>${words.keysClose}</button>
    </dialog>`;
  }

  private renderMatter(matter: SlotFacts) {
    return html`<li><button class="matter" data-waiting=${matter.matterId} @click=${() => this.open(matter)}>
      <redpoll-mark .priority=${matter.priority} ?hollow=${matter.acknowledged || matter.returned}></redpoll-mark>
      <span><strong>${matter.words.title}</strong><span class="soft">${matter.words.evidence}</span> · ${matter.words.act}</span>
    </button></li>`;
  }

  private open(matter: SlotFacts): void {
    this.dialog?.close();
    const detail = { matterId: matter.matterId };
    this.dispatchEvent(new CustomEvent("redpoll-slot-open", { detail, bubbles: true, composed: true }));
  }
}
