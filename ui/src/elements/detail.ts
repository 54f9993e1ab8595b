import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { RecordedEvent } from "../protocol/events";
import type { Bins } from "../pure/bins";
import { clockWords } from "../pure/number_words";
import { words } from "../words/english";
import { eventWords } from "../words/event_words";
import type { MatterWords } from "../words/matter_words";
import { sheetWords } from "../words/sheet_words";
import type { SettingGroup } from "./settings";
import "./history";
import "./settings";

export type { SettingFacts, SettingGroup } from "./settings";

export interface DetailMatter {
  readonly matterId: string;
  readonly words: MatterWords;
  readonly evidence: readonly string[];
  readonly acknowledged: boolean;
}

/** Something whose sheet can be opened from here: its receiver, its distribution, its pack. */
export interface NearThing {
  readonly address: string;
  /** The device whose sheet shows it. */
  readonly deviceId: string;
  readonly words: string;
}

export interface DetailFacts {
  readonly target: string;
  readonly groups: readonly SettingGroup[];
  readonly matters: readonly DetailMatter[];
  readonly things: readonly NearThing[];
  /** Newest first; null while it is read. */
  readonly journal: readonly RecordedEvent[] | "failed" | null;
  readonly canRetry: boolean;
}

/**
 * What a row unfolds: its history, its settings, what is wrong, its journal.
 *
 * Events: `redpoll-setting`, `redpoll-acknowledge`, `redpoll-retry`, `redpoll-thing-open` and `redpoll-detail-close`.
 */
@customElement("redpoll-detail")
export class RedpollDetail extends LitElement {
  static override styles = css`
    :host { display: block; background: var(--raised); border-top: 1px solid var(--edge); border-bottom: 1px solid var(--edge); }
    .columns { display: grid; grid-template-columns: minmax(0, 1.1fr) minmax(0, 1.75fr) minmax(0, 0.8fr); gap: 12px 40px; padding: 12px 20px 14px; }
    section { min-width: 0; }
    .head { display: flex; flex-wrap: wrap; gap: 4px 8px; justify-content: space-between; align-items: start; margin-bottom: 6px; }
    .things { display: flex; flex-wrap: wrap; gap: 6px; }
    h2 { margin: 0 0 6px; font-size: 15px; font-weight: 650; }
    h2 + p { margin-top: 0; }
    p { margin: 0 0 8px; }
    .soft { color: var(--text-soft); }
    ul { margin: 0 0 8px; padding: 0; list-style: none; }
    .journal { max-height: 290px; overflow-y: auto; }
    .journal li { display: grid; grid-template-columns: 5.2em minmax(0, 1fr); padding: 1px 0; overflow-wrap: anywhere; }
    .past { display: grid; gap: 16px; align-content: start; }
    button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 4px 14px; min-height: 36px; cursor: pointer; }
    :is(button, .journal):focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
    @media (max-width: 1500px) { .columns { grid-template-columns: minmax(0, 1fr) minmax(0, 1.7fr); gap: 12px 28px; } .events { grid-column: 1 / -1; } .journal { max-height: 132px; } }
    @media (max-width: 760px) { .columns { display: block; padding: 12px; } section { margin-bottom: 18px; } button { min-height: 44px; } }
  `;

  @property({ attribute: false }) facts: DetailFacts | null = null;
  @property({ attribute: false }) bins: Bins | null = null;
  @property({ attribute: false }) now: () => number = () => 0;
  @property({ attribute: false }) utc: (seconds: number) => number = () => 0;

  override render() {
    const facts = this.facts;
    if (facts === null) return nothing;
    return html`<div class="columns">
      <section class="past">
        <div><h2>${words.detail.history}</h2><redpoll-history .bins=${this.bins} .now=${this.now} .utc=${this.utc}></redpoll-history></div>
        <div><h2>${words.detail.verdict}</h2>${this.renderMatters(facts)}</div>
      </section>
      <section>
        <div class="head"><h2>${words.detail.settings}</h2>${this.renderThings(facts)}</div>
        ${
          facts.groups.length === 0
            ? html`<p class="soft">${words.detail.noSettings}</p>`
            : html`<redpoll-settings .groups=${facts.groups} .target=${facts.target}></redpoll-settings>`
        }
      </section>
      <section class="events">
        <div class="head"><h2 id="journal">${words.detail.journal}</h2>
          <button @click=${() => this.tell("redpoll-detail-close", {})}>${words.detail.close}</button></div>
        ${renderJournal(facts.journal)}
      </section>
    </div>`;
  }

  private renderThings({ things }: DetailFacts) {
    return html`<span class="things">${things.map(
      (thing) => html`<button data-thing=${thing.address}
        @click=${() => this.tell("redpoll-thing-open", { deviceId: thing.deviceId, address: thing.address })}>${sheetWords.openThing(thing.words)}</button>`,
    )}</span>`;
  }

  private renderMatters(facts: DetailFacts) {
    const retry = facts.canRetry
      ? html`<button @click=${() => this.tell("redpoll-retry", {})}>${words.detail.retry}</button>`
      : nothing;
    if (facts.matters.length === 0) return html`<p class="soft">${words.detail.nothingWrong}</p>${retry}`;
    return html`<ul>${facts.matters.map(
      (matter) => html`<li><p>${matter.words.title}, ${matter.words.evidence}</p>
        <p class="soft">${matter.evidence.join(" · ")}</p>
        <p>${matter.words.act}</p>
        ${
          matter.acknowledged
            ? html`<p class="soft">${words.acknowledged}</p>`
            : html`<button @click=${() => this.tell("redpoll-acknowledge", { matterId: matter.matterId })}>${words.detail.acknowledge}</button>`
        }</li>`,
    )}</ul>${retry}`;
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

function renderJournal(journal: DetailFacts["journal"]) {
  if (journal === null) return html`<p class="soft">${words.detail.journalLoading}</p>`;
  if (journal === "failed") return html`<p>${words.detail.journalFailed}</p>`;
  if (journal.length === 0) return html`<p class="soft">${words.detail.journalEmpty}</p>`;
  return html`<ul class="journal" tabindex="0" aria-labelledby="journal">${journal.map(
    (event) => html`<li><time class="soft">${clockWords(event.at.utc_us)}</time><span>${eventWords(event)}</span></li>`,
  )}</ul>`;
}
