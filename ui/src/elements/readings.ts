import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import { sheetWords } from "../words/sheet_words";

/** One reading as it is said. */
export interface SaidReading {
  readonly name: string;
  readonly label: string;
  readonly text: string;
  readonly unit: string;
  /** Why it can't be trusted as it stands: its age, or that it can't be right; empty while it is good. */
  readonly doubt: string;
}

/** What a thing reports, in plain words; units on demand. */
@customElement("redpoll-readings")
export class RedpollReadings extends LitElement {
  static override styles = css`
    :host { display: block; }
    dl { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 0 16px; margin: 0; }
    .one { display: grid; grid-template-columns: subgrid; grid-column: 1 / -1; padding: 4px 0; border-bottom: 1px solid var(--rule); }
    dt { color: var(--text-soft); }
    dd { margin: 0; text-align: right; font-variant-numeric: tabular-nums; overflow-wrap: anywhere; }
    .unit { color: var(--text-soft); padding-left: 5px; }
    .doubtful { color: var(--text-soft); font-style: italic; }
    .doubt { padding-left: 8px; }
    p { margin: 6px 0 0; color: var(--text-soft); }
  `;

  @property({ attribute: false }) readings: readonly SaidReading[] = [];
  /** How many known readings were never reported. */
  @property({ type: Number }) unreported = 0;
  @property({ type: Boolean }) units = true;

  override render() {
    if (this.readings.length === 0) return html`<p>${sheetWords.noReadings}</p>`;
    return html`<dl>${repeat(
      this.readings,
      (one) => one.name,
      (one) => html`<div class="one" data-reading=${one.name}><dt>${one.label}</dt>
        <dd class=${one.doubt === "" ? "" : "doubtful"} title=${one.unit}>${one.text}${
          this.units && one.unit !== "" ? html`<span class="unit">${one.unit}</span>` : nothing
        }${one.doubt === "" ? nothing : html`<span class="doubt">${one.doubt}</span>`}</dd></div>`,
    )}</dl>${this.unreported === 0 ? nothing : html`<p>${sheetWords.notReported(this.unreported)}</p>`}`;
  }
}
