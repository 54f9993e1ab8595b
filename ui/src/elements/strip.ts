import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { classMap } from "lit/directives/class-map.js";
import { SLOT_COUNT } from "../pure/slots";
import { words } from "../words/english";
import type { MatterWords } from "../words/matter_words";
import "./mark";

/** A matter as a slot shows it. */
export interface SlotFacts {
  readonly matterId: string;
  readonly priority: number;
  readonly acknowledged: boolean;
  readonly returned: boolean;
  readonly words: MatterWords;
}

/** Somebody looks at a slot, or wants to go where its matter is. */
export type SlotEvent = CustomEvent<{ readonly matterId: string }>;

/** The five slots of what needs somebody. Events: `redpoll-slot-select` and `redpoll-slot-open`. */
@customElement("redpoll-strip")
export class RedpollStrip extends LitElement {
  static override styles = css`
    :host { display: block; }
    .slots {
      display: grid;
      grid-template-columns: repeat(5, minmax(0, 1fr));
      gap: 8px;
      height: 100%;
      margin: 0;
      padding: 0;
      list-style: none;
    }
    li { display: grid; min-width: 0; }
    .slot, .quiet {
      border: 1px dashed var(--rule);
      padding: 6px 12px 6px 14px;
      color: var(--text-soft);
      font: inherit;
      line-height: 1.28;
      text-align: left;
      background: none;
      min-width: 0;
    }
    .quiet { display: flex; align-items: center; }
    .slot {
      display: grid;
      grid-template-columns: 26px minmax(0, 1fr);
      column-gap: 12px;
      align-items: center;
      border-style: solid;
      color: var(--text);
      background: var(--raised);
      cursor: pointer;
      position: relative;
    }
    .one { border-color: var(--priority-1); border-width: 3px; padding: 4px 10px 4px 12px; background: var(--tint-1); }
    .two { border-color: var(--priority-2); }
    .three { border-color: var(--priority-3); }
    .acknowledged { border-style: dotted; background: none; }
    .returned { border-style: dashed; background: none; }
    .slot:focus-visible, .selected { outline: 2px solid var(--focus); outline-offset: 1px; }
    redpoll-mark { --mark-size: 26px; }
    .lines { display: grid; min-width: 0; }
    .lines span { overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
    .title { font-size: 17px; font-weight: 650; }
    .evidence { color: var(--text-soft); }
    .lines .act { display: flex; gap: 8px; }
    .act > span { flex: 1; }
    .wait { flex: none; padding: 0 6px; background: var(--text); color: var(--ground); }
    @media (max-width: 1500px) {
      .slot { grid-template-columns: 22px minmax(0, 1fr); column-gap: 8px; padding: 3px 8px; }
      .one { padding: 1px 6px; }
      .title { font-size: 16px; }
      redpoll-mark { --mark-size: 22px; }
    }
    @media (max-width: 760px) {
      .slots { grid-auto-flow: column; grid-auto-columns: 86%; grid-template-columns: none; overflow-x: auto; scroll-snap-type: x mandatory; padding: 3px; }
      li { scroll-snap-align: center; }
      li.nothing { display: none; }
      li.nothing:first-child { display: grid; }
      .slots.calm { grid-auto-columns: 100%; }
    }
  `;

  @property({ attribute: false }) slots: readonly (SlotFacts | null)[] = [];
  @property({ type: Number }) waiting = 0;
  /** The matter of the row that is selected, so that its slot is marked. */
  @property() selected = "";

  override render() {
    const calm = this.slots.every((slot) => slot === null);
    return html`<ol class="slots ${calm ? "calm" : ""}" aria-label=${words.slots}>
      ${this.slots.map((slot, index) => this.renderSlot(slot, index, calm))}
    </ol>`;
  }

  /** Puts the focus on a slot, counted from 0; says whether it holds a matter. */
  focusSlot(index: number): boolean {
    const slot = this.renderRoot.querySelector<HTMLElement>(`[data-slot="${index}"]`);
    slot?.focus();
    return slot !== null;
  }

  private renderSlot(slot: SlotFacts | null, index: number, calm: boolean) {
    if (slot === null) {
      return html`<li class="nothing"><div class="quiet">${calm && index === 0 ? words.allQuiet : words.quiet}</div></li>`;
    }
    const classes = {
      slot: true,
      one: slot.priority === 1,
      two: slot.priority === 2,
      three: slot.priority === 3,
      acknowledged: slot.acknowledged,
      returned: slot.returned,
      selected: slot.matterId === this.selected,
    };
    return html`<li>
      <button class=${classMap(classes)} data-slot=${index} @focus=${() => this.tell("select", slot)} @click=${() => this.tell("open", slot)}>
        <redpoll-mark .priority=${slot.priority} ?hollow=${slot.acknowledged || slot.returned}></redpoll-mark>
        <span class="lines">
          <span class="title">${slot.words.title}</span>
          <span class="evidence">${slot.words.evidence}</span>
          <span class="act"
            ><span>${this.actOf(slot)}</span>${
              index === SLOT_COUNT - 1 && this.waiting > 0
                ? html`<strong class="wait" @click=${this.openWaiting}>${words.moreWait(this.waiting)}</strong>`
                : nothing
            }</span
          >
        </span>
      </button>
    </li>`;
  }

  /** The click is the count's own: the slot beneath it stays as it is. */
  private openWaiting(event: Event): void {
    event.stopPropagation();
    this.dispatchEvent(new CustomEvent("redpoll-waiting-open", { bubbles: true, composed: true }));
  }

  private actOf(slot: SlotFacts): string {
    if (slot.returned) return words.returned;
    return slot.acknowledged ? `${words.acknowledged} · ${slot.words.act}` : slot.words.act;
  }

  private tell(act: "select" | "open", slot: SlotFacts): void {
    const detail = { matterId: slot.matterId };
    this.dispatchEvent(new CustomEvent(`redpoll-slot-${act}`, { detail, bubbles: true, composed: true }));
  }
}
