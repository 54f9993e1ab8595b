import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import type { RecordedEvent } from "../protocol/events";
import type { ActCapability, Command } from "../protocol/model";
import { clockWords } from "../pure/number_words";
import type { KeyMatch } from "../pure/same_key";
import type { Stretch } from "../pure/spectrum";
import { cautionOfAct } from "../words/caution_words";
import { words } from "../words/english";
import { eventWords } from "../words/event_words";
import { sheetWords } from "../words/sheet_words";
import type { ActProgress } from "./act";
import type { BayFacts } from "./bays";
import type { LineFacts } from "./lines";
import type { SaidReading } from "./readings";
import type { SettingGroup } from "./settings";
import "./act";
import "./bays";
import "./lines";
import "./readings";
import "./settings";

/** One act of a part. */
export interface PartAct {
  readonly capability: ActCapability;
  readonly command: Command | null;
  readonly progress: ActProgress | null;
  readonly dismissed: boolean;
  readonly problem: string;
  readonly locked: string;
  readonly stretches: readonly Stretch[];
}

/** The keys at both ends of a channel, as far as their fingerprints tell. */
export interface PartKeys {
  readonly here: string;
  readonly pack: string;
  readonly match: KeyMatch;
}

/** A picture of several parts under a heading. */
export interface PartPicture {
  readonly heading: string;
  readonly bays: readonly BayFacts[];
  readonly lines: readonly LineFacts[];
}

/** One part of a device: what it reports, what can be set, what can be done. */
export interface PartFacts {
  readonly address: string;
  readonly title: string;
  /** Who is meant in holds: the device and the part. */
  readonly target: string;
  /** Why the device as a whole can't be changed, where the sheet says it above; else empty. */
  readonly saidLock: string;
  readonly pictures: readonly PartPicture[];
  readonly keys: PartKeys | null;
  readonly readings: readonly SaidReading[];
  readonly unreported: number;
  readonly settings: SettingGroup | null;
  readonly acts: readonly PartAct[];
  /** The device's journal, newest first; null while it is read, and for parts. */
  readonly journal: readonly RecordedEvent[] | "failed" | null;
}

/**
 * One part of a device with everything about it; needs nothing known about what kind of device it is.
 *
 * Events: `redpoll-setting`, `redpoll-act` (act, address, name, values, command) and `redpoll-part-open`.
 */
@customElement("redpoll-part")
export class RedpollPart extends LitElement {
  static override styles = css`
    :host { display: block; }
    h2 { margin: 0 0 12px; font-size: 21px; font-weight: 680; overflow-wrap: anywhere; }
    h3 { margin: 0 0 6px; font-size: 15px; font-weight: 650; }
    .picture { margin-bottom: 22px; }
    .columns { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1.35fr) minmax(0, 1.1fr); gap: 18px 40px; align-items: start; }
    .columns.two { grid-template-columns: minmax(0, 1fr) minmax(0, 1.6fr); }
    section { min-width: 0; }
    redpoll-settings { --settings-columns: 1; }
    .two redpoll-settings { --settings-columns: 2 22em; }
    .head { display: flex; justify-content: space-between; align-items: baseline; }
    .soft { color: var(--text-soft); margin: 0; }
    .journal { margin-top: 26px; }
    .journal ul { margin: 0; padding: 0; list-style: none; columns: 2 30em; column-gap: 40px; }
    .journal li { display: grid; grid-template-columns: 5.2em minmax(0, 1fr); padding: 1px 0; overflow-wrap: anywhere; break-inside: avoid; }
    .keys { margin: 14px 0 0; padding: 10px 14px; border: 1px solid var(--rule); }
    .keys.differ { border: 3px double var(--text); }
    .keys dl { display: grid; grid-template-columns: auto minmax(0, 1fr); gap: 2px 14px; margin: 0 0 4px; }
    .keys dt { color: var(--text-soft); }
    .keys dd { margin: 0; font-variant-numeric: tabular-nums; letter-spacing: 0.04em; overflow-wrap: anywhere; }
    .keys p { margin: 0; }
    .differ p { font-weight: 650; }
    @media (max-width: 1500px) { .columns { grid-template-columns: minmax(0, 1fr) minmax(0, 1.25fr); gap: 16px 28px; } .doing { grid-column: 2; } }
    @media (max-width: 1000px) { .columns, .columns.two { grid-template-columns: minmax(0, 1fr); } .doing { grid-column: 1; } }
  `;

  @property({ attribute: false }) facts: PartFacts | null = null;
  @property({ type: Boolean }) units = true;

  override render() {
    const facts = this.facts;
    if (facts === null) return nothing;
    return html`<h2>${facts.title}</h2>
      ${facts.pictures.map((picture) => renderPicture(picture))}
      <div class="columns ${facts.acts.length === 0 ? "two" : ""}">
        <section>
          <h3>${sheetWords.readings}</h3>
          <redpoll-readings .readings=${facts.readings} .unreported=${facts.unreported} .units=${this.units}></redpoll-readings>
          ${facts.keys === null ? nothing : renderKeys(facts.keys)}
        </section>
        <section><h3>${sheetWords.settings}</h3>${
          facts.settings === null
            ? html`<p class="soft">${sheetWords.noSettings}</p>`
            : html`<redpoll-settings .groups=${[facts.settings]} .target=${facts.target} .headed=${false} .saidLock=${facts.saidLock}></redpoll-settings>`
        }</section>
        ${facts.acts.length === 0 ? nothing : this.renderActs(facts)}
      </div>
      ${facts.journal === null ? nothing : renderJournal(facts.journal)}`;
  }

  private renderActs(facts: PartFacts) {
    return html`<section class="doing"><h3>${sheetWords.acts}</h3>${repeat(
      facts.acts,
      (act) => `${facts.address} ${act.capability.act}`,
      (act) => this.renderAct(facts, act),
    )}</section>`;
  }

  private renderAct(facts: PartFacts, act: PartAct) {
    const tell = (what: string, extra: object) => {
      const detail = {
        act: what,
        address: facts.address,
        name: act.capability.act,
        commandId: act.command?.command_id ?? "",
        ...extra,
      };
      this.dispatchEvent(new CustomEvent("redpoll-act", { detail, bubbles: true, composed: true }));
    };
    return html`<redpoll-act data-act="${facts.address} ${act.capability.act}" .capability=${act.capability}
      .target=${facts.target} .command=${act.command} .progress=${act.progress} .dismissed=${act.dismissed}
      .problem=${act.problem} .locked=${act.locked}
      ?quiet=${isSaid(facts, act)} .stretches=${act.stretches}
      @redpoll-do=${(event: CustomEvent<{ values: object }>) => tell("do", { values: event.detail.values })}
      @redpoll-cancel=${() => tell("cancel", {})} @redpoll-close-unknown=${() => tell("close", {})}
      @redpoll-dismiss=${() => tell("dismiss", {})}></redpoll-act>`;
  }
}

/** Whether an act above it has said the same caution already: once is enough to be read. */
function isSaid(facts: PartFacts, act: PartAct): boolean {
  const caution = cautionOfAct(act.capability);
  const first = facts.acts.find((one) => cautionOfAct(one.capability) === caution);
  return first !== act;
}

function renderJournal(journal: NonNullable<PartFacts["journal"]>) {
  const events = journal === "failed" ? [] : journal;
  return html`<section class="journal"><h3>${sheetWords.journal}</h3>
    ${journal === "failed" ? html`<p>${words.detail.journalFailed}</p>` : nothing}
    ${events.length === 0 && journal !== "failed" ? html`<p class="soft">${sheetWords.journalEmpty}</p>` : nothing}
    <ul>${events.map((event) => html`<li><time class="soft">${clockWords(event.at.utc_us)}</time><span>${eventWords(event)}</span></li>`)}</ul>
  </section>`;
}

function renderPicture(picture: PartPicture) {
  return html`<section class="picture"><h3>${picture.heading}</h3>
    ${picture.bays.length === 0 ? nothing : html`<redpoll-bays .bays=${picture.bays}></redpoll-bays>`}
    ${picture.lines.length === 0 ? nothing : html`<redpoll-lines .lines=${picture.lines}></redpoll-lines>`}
  </section>`;
}

function renderKeys(keys: PartKeys) {
  const differ = keys.match === "not the same" || keys.match === "one has none";
  return html`<div class="keys ${differ ? "differ" : ""}"><dl>
      <dt>${sheetWords.keys.here}</dt><dd>${keys.here}</dd>
      <dt>${sheetWords.keys.pack}</dt><dd>${keys.pack}</dd>
    </dl><p>${sheetWords.keys.match[keys.match]}</p></div>`;
}
