import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { ROW_STATES, type RowState } from "../pure/row_state";
import { words } from "../words/english";

export interface FootFacts {
  readonly devices: number;
  readonly reporting: number;
  readonly channels: number;
  readonly states: Readonly<Record<RowState, number>>;
  /** The age of the oldest fast value, in words; empty where there is none. */
  readonly oldest: string;
  /** The journal's last write as a clock time; empty where there was none. */
  readonly written: string;
  /** Why the journal fails; empty while it doesn't. */
  readonly failing: string;
  readonly waiting: number;
}

/** The foot of every screen: who reports, how old the oldest value is, the journal, the keys. Event: `redpoll-devices-open`. */
@customElement("redpoll-foot")
export class RedpollFoot extends LitElement {
  static override styles = css`
    :host { display: flex; align-items: center; gap: 28px; padding: 0 16px; border-top: 1px solid var(--rule); color: var(--text-soft); white-space: nowrap; overflow: hidden; }
    button { font: inherit; color: inherit; background: none; border: 0; padding: 0; text-decoration: underline; text-underline-offset: 3px; cursor: pointer; }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 1px; }
    .keys { margin-left: auto; }
    .failing { color: var(--text); font-weight: 650; border: 2px solid var(--text); padding: 0 8px; }
    .said { color: var(--text); font-weight: 600; }
    .said:not(:empty) + .keys { display: none; }
    .said:empty { display: none; }
    @media (max-width: 1500px) { :host { gap: 20px; } }
    @media (max-width: 760px) {
      :host { display: block; padding: 4px 10px; white-space: normal; line-height: 1.3; }
      button { min-height: 44px; }
      :is(span, button) + span:not(:empty)::before { content: "· "; }
      .keys { display: none; }
    }
  `;

  @property({ attribute: false }) facts: FootFacts | null = null;
  /** The keys that are worth a word on this stage. */
  @property() keys: string = words.foot.keys;
  /** What the screen just did, or why it could not; it goes away by itself. */
  @property() said = "";

  override render() {
    const facts = this.facts;
    if (facts === null) return nothing;
    return html`<button title=${words.foot.devicesOpen} @click=${this.openDevices}>${words.foot.devices(facts.devices, facts.reporting)}</button>
      <span>${words.foot.channels(facts.channels)}: ${statesWords(facts.states)}</span>
      <span>${facts.oldest === "" ? words.foot.oldestNone : words.foot.oldest(facts.oldest)}</span>
      ${this.renderJournal(facts)}
      <span class="said" role="status">${this.said}</span>
      <span class="keys">${this.keys}</span>`;
  }

  private openDevices(): void {
    this.dispatchEvent(new CustomEvent("redpoll-devices-open", { bubbles: true, composed: true }));
  }

  private renderJournal(facts: FootFacts) {
    if (facts.failing !== "") {
      return html`<span class="failing" role="alert">${words.foot.failing(facts.failing, facts.waiting)}</span>`;
    }
    return html`<span>${facts.written === "" ? words.foot.notWritten : words.foot.written(facts.written)}</span>`;
  }
}

function statesWords(states: Readonly<Record<RowState, number>>): string {
  return ROW_STATES.filter((state) => state === "on air" || states[state] > 0)
    .map((state) => `${states[state]} ${words.foot.states[state]}`)
    .join(", ");
}
