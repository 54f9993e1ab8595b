import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { ZoneWriter } from "../protocol/model";
import { peopleWords } from "../words/people_words";

export interface ZoneAsk {
  readonly zone: string;
  readonly verb: "take" | "offer" | "accept" | "release";
  /** To whom it is offered; empty takes an offer back. */
  readonly to?: string;
}

/** Who alone writes in a zone, small, and what one may do about it. Event: `redpoll-zone`. */
@customElement("redpoll-zone")
export class RedpollZone extends LitElement {
  static override styles = css`
    :host { display: inline-flex; gap: 8px; align-items: center; margin-left: 10px; font-weight: 400; font-size: 13px; }
    button { font: inherit; line-height: 1; color: var(--text-soft); background: none; border: none; text-decoration: underline; padding: 0 6px; min-height: 100%; cursor: pointer; }
    button:focus-visible { outline: 2px solid var(--focus); }
    @media (max-width: 760px) { button { min-height: 24px; } }
  `;

  @property() zone = "";
  @property() person = "";
  @property({ attribute: false }) writer: ZoneWriter | undefined = undefined;
  /** Whether somebody else could be there: whoever works alone is shown nothing. */
  @property({ type: Boolean }) shared = false;

  override render() {
    const { writer } = this;
    const zone = peopleWords.zone;
    if (writer === undefined) return this.shared ? this.button(zone.take, { verb: "take" }) : nothing;
    if (writer.person === this.person) {
      const offered = writer.offered_to !== "";
      return html`<span>${offered ? zone.offered : zone.you}</span>
        ${offered ? this.button(zone.withdraw, { verb: "offer", to: "" }) : this.button(zone.offer, { verb: "offer" })}
        ${this.button(zone.release, { verb: "release" })}`;
    }
    const mine = writer.offered_to === "*" || writer.offered_to === this.person;
    if (mine) return html`<span>${zone.offers(writer.person)}</span>${this.button(zone.accept, { verb: "accept" })}`;
    return html`<span>${zone.writes(writer.person)}</span>`;
  }

  private button(label: string, ask: Omit<ZoneAsk, "zone">) {
    return html`<button aria-label="${label}: ${this.zone}" @click=${() => this.tell(ask)}>${label}</button>`;
  }

  private tell(ask: Omit<ZoneAsk, "zone">): void {
    const detail: ZoneAsk = { zone: this.zone, ...ask };
    this.dispatchEvent(new CustomEvent("redpoll-zone", { detail, bubbles: true, composed: true }));
  }
}
