import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query } from "lit/decorators.js";
import type { Store } from "../data/store";
import type { UnlockEvent } from "../elements/guard";
import type { RedpollSheet } from "../elements/sheet";
import { sheetWords } from "../words/sheet_words";
import { type ThingAct, ThingAnswers } from "./act_answers";
import type { SettingAct } from "./acts";
import { SettingAnswers } from "./setting_answers";
import { sheetFacts } from "./sheet_facts";
import { ThingJournal } from "./thing_journal";
import "../elements/sheet";

/** Readings are said anew four times a second, so that they can be read. */
const WORDS_MS = 250;
/** A scan that ended without a word of progress is read once all the same. */
const ALL_STRETCHES = Number.MAX_SAFE_INTEGER;

/** A device whose sheet is opened, and the part of it that is asked for. */
export interface OpenThing {
  readonly deviceId: string;
  readonly address: string;
}

/**
 * The sheet of a device: everything of it, on any kind of device, over the live watch.
 *
 * Events: `redpoll-sheet-close`, `redpoll-thing-retry` (the device's id).
 */
@customElement("redpoll-thing")
export class RedpollThing extends LitElement {
  static override styles = css`
    :host { display: block; min-height: 0; }
    redpoll-sheet { height: 100%; }
    .gone { padding: 24px; }
    button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 4px 14px; min-height: 44px; }
  `;

  @property({ attribute: false }) store: Store | null = null;
  @property() deviceId = "";
  /** The part that is looked at; the device as a whole where it is empty. */
  @property() address = "";
  @query("redpoll-sheet") private readonly sheet?: RedpollSheet;
  private readonly settings = new SettingAnswers(this, () => this.store);
  private readonly acts = new ThingAnswers(this);
  private readonly journal = new ThingJournal(this);
  private timer: ReturnType<typeof setInterval> | undefined;
  private unsubscribe: (() => void) | undefined;

  override connectedCallback() {
    super.connectedCallback();
    this.timer = setInterval(() => this.requestUpdate(), WORDS_MS);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearInterval(this.timer);
    this.unsubscribe?.();
  }

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has("store")) {
      this.unsubscribe?.();
      this.unsubscribe = this.store?.subscribe(() => this.requestUpdate());
    }
    if (changed.has("deviceId")) {
      this.settings.forget();
      this.acts.permitProblem = "";
    }
    this.readScans();
    const sequence = this.store?.picture?.sequence;
    if (sequence !== undefined) void this.journal.follow(this.deviceId, sequence);
  }

  override render() {
    const { store } = this;
    if (store === null) return nothing;
    const now = store.clock.begun ? store.clock.seconds(performance.now()) : 0;
    const nowUtcUs = store.clock.begun ? store.clock.utcUs(now) : 0;
    const facts = sheetFacts(store, {
      deviceId: this.deviceId,
      address: this.address,
      answers: this.settings.at(nowUtcUs),
      acts: this.acts.at(nowUtcUs),
      permitProblem: this.acts.permitProblem,
      journal: this.journal.events,
      now,
    });
    if (facts === null) return this.renderGone();
    return html`<redpoll-sheet .facts=${facts}
      @redpoll-part-open=${(event: CustomEvent<{ address: string }>) => this.look(event.detail.address)}
      @redpoll-setting=${(event: CustomEvent<SettingAct>) => this.settings.take(event.detail)}
      @redpoll-act=${(event: CustomEvent<ThingAct>) => this.acts.take(event.detail)}
      @redpoll-unlock=${(event: UnlockEvent) => this.acts.permit(this.deviceId, { permit: "unlock", ...event.detail })}
      @redpoll-lock=${() => this.acts.permit(this.deviceId, { permit: "lock" })}
      @redpoll-take-lease=${() => this.acts.permit(this.deviceId, { permit: "lease" })}
      @redpoll-retry=${this.retry}></redpoll-sheet>`;
  }

  override firstUpdated() {
    void this.updateComplete.then(() => this.focusPart());
  }

  /** Looks at the part so many further down the list. */
  move(by: number): void {
    const next = this.sheet?.near(by) ?? null;
    if (next !== null) this.look(next);
    void this.updateComplete.then(() => this.focusPart());
  }

  changeUnits(): void {
    this.sheet?.changeUnits();
  }

  private renderGone() {
    const close = () => this.dispatchEvent(new CustomEvent("redpoll-sheet-close", { bubbles: true, composed: true }));
    return html`<div class="gone"><p>${sheetWords.gone}</p><button @click=${close}>${sheetWords.close}</button></div>`;
  }

  private focusPart(): void {
    void this.sheet?.updateComplete.then(() => this.sheet?.focusPart());
  }

  private look(address: string): void {
    this.address = address;
  }

  /** Reads the levels of the scans of this device as they come, the last of them once it is over. */
  private readScans(): void {
    const picture = this.store?.picture ?? null;
    if (picture === null) return;
    for (const command of picture.commands.values()) {
      if (command.act !== "scan" || command.device_id !== this.deviceId) continue;
      const progress = picture.progress.get(command.command_id);
      const stretches = command.state === "confirmed" ? ALL_STRETCHES : (progress?.stretches ?? 0);
      void this.acts.readLevels(command.command_id, stretches);
    }
  }

  private retry(): void {
    const detail = { deviceId: this.deviceId };
    this.dispatchEvent(new CustomEvent("redpoll-thing-retry", { detail, bubbles: true, composed: true }));
  }
}
