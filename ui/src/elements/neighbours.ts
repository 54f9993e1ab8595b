import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { Neighbour } from "../pure/neighbours";
import { decimal, megahertz, whole } from "../pure/number_words";
import { chartWords } from "../words/chart_words";
import "./mark";
import { railStyles } from "./rail_styles";

export interface NeighboursFacts {
  readonly frequencyHz: number;
  /** Whose it is, and what it is. */
  readonly where: string;
  /** How many products of the third order it has a part in. */
  readonly makes: number;
  /** Null while they are read. */
  readonly products: readonly Neighbour[] | "failed" | null;
  readonly carriers: readonly Neighbour[];
  readonly looked: number;
  readonly locked: boolean;
  /** Whether it can be held or let go here. */
  readonly canLock: boolean;
}

/**
 * The picked carrier: what it makes, and what stands in its way.
 *
 * Events: `redpoll-product-look` with an index, `redpoll-lock`, `redpoll-unpick`.
 */
@customElement("redpoll-neighbours")
export class RedpollNeighbours extends LitElement {
  static override styles = [
    railStyles,
    css`
      :host { border: 1px solid var(--edge); background: var(--raised); padding: 10px 14px 12px; }
      .head { display: flex; align-items: baseline; gap: 8px; }
      .head b { font-size: 22px; font-weight: 650; }
      .unit { color: var(--text-soft); }
      .near { display: grid; width: 100%; grid-template-columns: minmax(0, 1fr) auto; gap: 0 8px; align-items: center; min-height: 36px; padding: 3px 6px; text-align: left; border: 0; border-top: 1px solid var(--rule); line-height: 1.25; }
      .near[aria-pressed="true"] { background: var(--select); color: var(--text); font-weight: 400; box-shadow: inset 3px 0 0 var(--text); }
      div.near { cursor: default; }
      .sum { display: flex; align-items: center; gap: 8px; }
      .margin { color: var(--text-soft); white-space: nowrap; }
      .margin.short { color: var(--text); font-weight: 650; }
      .list { max-height: var(--neighbours-height, 300px); overflow-y: auto; scrollbar-width: thin; scrollbar-color: var(--edge) var(--raised); }
      redpoll-mark { --mark-size: 20px; }
    `,
  ];

  @property({ attribute: false }) facts: NeighboursFacts | null = null;

  override render() {
    const facts = this.facts;
    if (facts === null) return html`<p class="soft">${chartWords.pickOne}</p>`;
    return html`<div class="head"><b>${megahertz(facts.frequencyHz)}</b> <span class="unit">${chartWords.megahertz}</span> <span>${facts.where}</span></div>
      <p class="soft">${chartWords.makes(facts.makes)}</p>
      <div class="acts">
        ${facts.canLock ? html`<button aria-pressed=${facts.locked} @click=${() => this.tell("redpoll-lock")}>${facts.locked ? chartWords.unlock : chartWords.lock}</button>` : nothing}
        <button @click=${() => this.tell("redpoll-unpick")}>${chartWords.unpick}</button>
      </div>
      <h2 id="near">${chartWords.neighbours}</h2>
      <div class="list" role="group" aria-labelledby="near">${this.renderNear(facts)}</div>`;
  }

  private renderNear({ products, carriers, looked }: NeighboursFacts) {
    const tooNear = carriers
      .filter(({ marginHz }) => marginHz !== null && marginHz < 0)
      .map((one) => renderCarrier(one));
    const beside = carriers
      .filter(({ marginHz }) => marginHz === null || marginHz >= 0)
      .map((one) => renderCarrier(one));
    if (products === null) return html`${tooNear}<p class="soft">${chartWords.neighboursLoading}</p>${beside}`;
    if (products === "failed") return html`${tooNear}<p>${chartWords.noAnswer}</p>${beside}`;
    const shown = products.map((one, index) => this.renderProduct(one, index, index === looked));
    return html`${tooNear}${shown}${products.length === 0 ? html`<p class="soft">${chartWords.noNeighbours}</p>` : nothing}${beside}`;
  }

  private renderProduct(one: Neighbour, index: number, looked: boolean) {
    const level =
      one.levelDbm === null ? nothing : html` <span class="soft">${chartWords.level(whole(one.levelDbm))}</span>`;
    return html`<button class="near" aria-pressed=${looked} @click=${() => this.tell("redpoll-product-look", looked ? -1 : index)}>
      <span class="sum">${renderMark(one)}<span>${one.sum}${level}</span></span>${renderMargin(one)}</button>`;
  }

  private tell(name: string, detail: unknown = null): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

function renderCarrier(one: Neighbour) {
  return html`<div class="near"><span class="sum">${renderMark(one)}<span>${chartWords.nextCarrier} ${megahertz(one.frequencyHz)}</span></span>${renderMargin(one)}</div>`;
}

function renderMark({ marginHz }: Neighbour) {
  return marginHz !== null && marginHz < 0 ? html`<redpoll-mark .priority=${2}></redpoll-mark>` : nothing;
}

function renderMargin({ marginHz, distanceHz }: Neighbour) {
  if (marginHz === null) return html`<span class="margin">${chartWords.unguarded(kilohertz(distanceHz))}</span>`;
  if (marginHz < 0) return html`<span class="margin short">${chartWords.short(kilohertz(-marginHz))}</span>`;
  return html`<span class="margin">${chartWords.beyond(kilohertz(marginHz))}</span>`;
}

function kilohertz(hertz: number): string {
  return decimal(hertz / 1e3, hertz % 1e3 === 0 ? 0 : 1);
}
