import { css, html, LitElement, nothing } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import type { Unlocked } from "../protocol/model";
import { minutesWords } from "../pure/number_words";
import { sheetWords } from "../words/sheet_words";
import "./hold";

/** For how long things that may hurt are unlocked at the most; common practice. */
export const UNLOCK_MINUTES = 10;
const REASON_LENGTH = 80;

/** Somebody unlocks what is guarded, and says why. */
export type UnlockEvent = CustomEvent<{ readonly reason: string; readonly minutes: number }>;

/** Whether what may hurt somebody's hearing is locked, for how long it isn't, and the hold that unlocks it. */
@customElement("redpoll-guard")
export class RedpollGuard extends LitElement {
  static override styles = css`
    :host { display: block; border: 2px solid var(--edge); padding: 8px 14px; }
    :host([open]) { border-color: var(--text); border-style: double; border-width: 4px; padding: 6px 12px; }
    p { margin: 0 0 6px; }
    .soft { color: var(--text-soft); }
    .line { display: flex; flex-wrap: wrap; align-items: center; gap: 6px 12px; }
    input, button { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); min-height: 36px; padding: 0 10px; }
    input { width: min(26em, 100%); }
    button { cursor: pointer; }
    :is(input, button):focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
    .problem { font-weight: 600; }
    @media (max-width: 760px), (pointer: coarse) { input, button { min-height: 44px; } }
  `;

  /** What is unlocked: the device's name. */
  @property() target = "";
  @property({ attribute: false }) unlocked: Unlocked | null = null;
  /** Seconds until it locks itself. */
  @property({ type: Number }) leftS = 0;
  @property({ type: Boolean }) allowed = true;
  @property() problem = "";
  @state() private reason = "";

  override willUpdate() {
    this.toggleAttribute("open", this.unlocked !== null);
  }

  override render() {
    return html`${this.unlocked === null ? this.renderLocked() : this.renderOpen(this.unlocked)}
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}`;
  }

  private renderLocked() {
    if (!this.allowed) return html`<p>${sheetWords.guard.locked} ${sheetWords.guard.needsRole}</p>`;
    return html`<p>${sheetWords.guard.locked}</p>
      <div class="line"><label for="why">${sheetWords.guard.why}</label>
        <input id="why" maxlength=${REASON_LENGTH} autocomplete="off" .value=${this.reason}
          @input=${(event: Event) => {
            this.reason = (event.target as HTMLInputElement).value;
          }} />
        ${
          this.reason.trim() === ""
            ? nothing
            : html`<redpoll-hold .label=${sheetWords.guard.hold(this.target, UNLOCK_MINUTES)} @redpoll-held=${this.unlock}></redpoll-hold>`
        }</div>`;
  }

  private renderOpen({ by, reason }: Unlocked) {
    const left = this.leftS < 60 ? `${Math.max(Math.ceil(this.leftS), 0)} s` : minutesWords(Math.ceil(this.leftS / 60));
    return html`<p role="status"><strong>${sheetWords.guard.unlocked(left)}</strong></p>
      <div class="line"><span class="soft">${sheetWords.guard.by(by, reason)}</span>
        <button @click=${() => this.tell("redpoll-lock", {})}>${sheetWords.guard.lock}</button></div>`;
  }

  private unlock(): void {
    this.tell("redpoll-unlock", { reason: this.reason.trim(), minutes: UNLOCK_MINUTES });
    this.reason = "";
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}
