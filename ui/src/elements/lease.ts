import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { Lease } from "../protocol/model";
import { sheetWords } from "../words/sheet_words";
import "./hold";

/** Who may write to a device that takes one writer at a time. Event: `redpoll-take-lease`. */
@customElement("redpoll-lease")
export class RedpollLease extends LitElement {
  static override styles = css`
    :host { display: block; }
    :host([elsewhere]) { border: 2px dashed var(--text); padding: 8px 14px; }
    p { margin: 0 0 6px; }
    .soft { color: var(--text-soft); margin: 0; }
    .problem { font-weight: 600; }
  `;

  @property({ attribute: false }) lease: Lease | null = null;
  @property() target = "";
  @property({ type: Boolean }) allowed = true;
  @property() problem = "";

  override willUpdate() {
    this.toggleAttribute("elsewhere", this.lease !== null && !this.lease.ours);
  }

  override render() {
    const { lease } = this;
    if (lease === null) return nothing;
    if (lease.ours) return html`<p class="soft">${sheetWords.lease.ours}</p>`;
    const said = lease.holder === "" ? sheetWords.lease.unheld : sheetWords.lease.elsewhere(lease.holder);
    return html`<p role="status">${said}</p>
      ${
        this.allowed
          ? html`<redpoll-hold .label=${sheetWords.lease.hold(this.target)} @redpoll-held=${this.take}></redpoll-hold>`
          : html`<p class="soft">${sheetWords.lease.needsRole}</p>`
      }
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}`;
  }

  private take(): void {
    this.dispatchEvent(new CustomEvent("redpoll-take-lease", { bubbles: true, composed: true }));
  }
}
