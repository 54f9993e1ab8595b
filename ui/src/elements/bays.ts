import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import { sheetWords } from "../words/sheet_words";

/** One bay of a charger as the picture shows it. */
export interface BayFacts {
  readonly address: string;
  readonly label: string;
  /** What sits in it: a row's name or a pack's; empty for nothing. */
  readonly pack: string;
  /** What the bay does, in words; empty where it isn't known. */
  readonly state: string;
  /** 0 to 1, NaN where it isn't known: unknown is blank, never full. */
  readonly charge: number;
  /** More words about it: when it is full, what its cells are worth. */
  readonly more: readonly string[];
  /** Whether somebody should look at it. */
  readonly odd: boolean;
}

/** A charger's bays side by side, as they stand in the room. Event: `redpoll-part-open`. */
@customElement("redpoll-bays")
export class RedpollBays extends LitElement {
  static override styles = css`
    ul { display: grid; grid-template-columns: repeat(auto-fill, minmax(150px, 1fr)); gap: 10px; margin: 0; padding: 0; list-style: none; }
    button { display: grid; grid-template-columns: minmax(0, 1fr) 16px; gap: 2px 10px; width: 100%; height: 100%; min-height: 132px; padding: 9px 12px; font: inherit; line-height: 1.3; text-align: left; color: var(--text); background: var(--ground); border: 1px solid var(--rule); cursor: pointer; }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 1px; }
    button.empty { border-style: dashed; color: var(--text-soft); }
    button.odd { border: 2px solid var(--text); padding: 8px 11px; }
    .words { display: grid; align-content: start; min-width: 0; }
    .number { color: var(--text-soft); }
    .pack { font-size: 17px; font-weight: 650; overflow-wrap: anywhere; }
    .odd .state { font-weight: 650; }
    .more { color: var(--text-soft); }
    .cell { position: relative; align-self: stretch; background: var(--trough); }
    .cell i { position: absolute; left: 0; right: 0; bottom: 0; height: 100%; background: var(--mark); transform: scaleY(var(--charge)); transform-origin: bottom; }
    .cell.unknown { background: none; border: 1px dashed var(--edge); }
  `;

  @property({ attribute: false }) bays: readonly BayFacts[] = [];

  override render() {
    return html`<ul>${repeat(
      this.bays,
      (bay) => bay.address,
      (bay) => this.renderBay(bay),
    )}</ul>`;
  }

  override updated() {
    for (const cell of this.renderRoot.querySelectorAll<HTMLElement>(".cell")) {
      cell.style.setProperty("--charge", cell.dataset["charge"] ?? "0");
    }
  }

  private renderBay(bay: BayFacts) {
    const empty = bay.pack === "";
    const unknown = Number.isNaN(bay.charge);
    return html`<li><button class="${empty ? "empty" : ""} ${bay.odd ? "odd" : ""}" data-bay=${bay.address} @click=${() => this.open(bay)}>
      <span class="words"><span class="number">${bay.label}</span>
        <span class="pack">${empty ? sheetWords.overview.empty : bay.pack}</span>
        <span class="state">${bay.state}</span>
        ${bay.more.map((more) => html`<span class="more">${more}</span>`)}</span>
      ${empty ? nothing : html`<span class="cell ${unknown ? "unknown" : ""}" data-charge=${unknown ? 0 : bay.charge}><i></i></span>`}
    </button></li>`;
  }

  private open(bay: BayFacts): void {
    const detail = { address: bay.address };
    this.dispatchEvent(new CustomEvent("redpoll-part-open", { detail, bubbles: true, composed: true }));
  }
}
