import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import type { Outcome } from "../data/request";
import { answerRun, beginGuided, cancelRun, listRuns, readRun, rollBackRun } from "../data/retunes";
import type { RetunePrompt, RetuneRun, RetuneStep } from "../protocol/model";
import { type GuidedAnswer, guidedAnswers, guidedUnderWay, isMoving, writeLook } from "../pure/guided_facts";
import { megahertz } from "../pure/number_words";
import { guidedWords } from "../words/guided_words";
import { stepKindWords } from "../words/retune_words";
import { guidedStyles } from "./guided_styles";
import type { RedpollHold } from "./hold";
import { railStyles } from "./rail_styles";
import "./hold";
import "./spares_look";

const POLL_MS = 500;

/** A channel that can be moved, in words. */
export interface GuidedChannel {
  readonly channel: string;
  readonly words: string;
}

/** The guided change of one channel to a spare while the show runs. Its keys act while the focus is within it. */
@customElement("redpoll-guided")
export class RedpollGuided extends LitElement {
  static override styles = [railStyles, guidedStyles];

  @property() plan = "";
  @property({ attribute: false }) channels: readonly GuidedChannel[] = [];
  @property({ type: Number }) nowUtcUs = 0;
  /** The run as the console last told it; the gallery sets it. */
  @property({ attribute: false }) run: RetuneRun | null = null;
  /** Whether the console answered last: what it does is unknown otherwise. */
  @property({ type: Boolean }) lost = false;
  /** Shows what it is given, and asks nobody. */
  @property({ type: Boolean }) still = false;
  @state() private problem = "";
  @state() private busy = false;
  private timer: ReturnType<typeof setTimeout> | undefined;

  override updated(changed: PropertyValues<this>) {
    if (!changed.has("plan") || this.still || this.plan === "") return;
    clearTimeout(this.timer);
    this.run = null;
    this.problem = "";
    void this.findRun();
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearTimeout(this.timer);
  }

  override render() {
    const { run } = this;
    return html`<redpoll-spares-look .plan=${this.plan} .nowUtcUs=${this.nowUtcUs}></redpoll-spares-look>
      <section @keydown=${this.onKeyDown} @keyup=${this.onKeyUp}><h2>${guidedWords.title}</h2>
      ${run === null ? this.renderBegin() : this.renderRun(run)}
      ${this.lost ? html`<p class="problem" role="alert">${guidedWords.noAnswer}</p>` : nothing}
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}</section>`;
  }

  private renderBegin() {
    return html`<p class="soft">${guidedWords.help}</p>
      <label>${guidedWords.channel}<select>${this.channels.map((one) => html`<option value=${one.channel}>${one.words}</option>`)}</select></label>
      <button ?disabled=${this.busy || this.channels.length === 0} @click=${this.begin}>${guidedWords.begin}</button>`;
  }

  private renderRun(run: RetuneRun) {
    const moving = isMoving(run.state);
    return html`<p role="status">${guidedWords.states[run.state]}${run.reason === "" ? "" : `: ${run.reason}`}</p>
      ${run.prompt !== null && moving ? this.renderPrompt(run.prompt) : moving && !this.lost ? html`<p class="soft">${guidedWords.waits}</p>` : nothing}
      <ul>${run.steps.map((step) => this.renderStep(step))}</ul>
      <div class="acts">${moving && run.state !== "rolling back" ? html`<button @click=${() => void this.take(cancelRun(run.run_id))}>${guidedWords.cancel}</button>` : nothing}
        ${!moving && run.can_roll_back ? html`<redpoll-hold label=${guidedWords.rollBack} @redpoll-held=${() => void this.take(rollBackRun(run.run_id))}></redpoll-hold>` : nothing}
        ${moving ? nothing : html`<button @click=${this.forget}>${guidedWords.another}</button>`}</div>`;
  }

  private renderPrompt(prompt: RetunePrompt) {
    return html`<p class="question" role="alert">${prompt.words}</p>
      <div class="answers">${guidedAnswers(prompt).map((one) => this.renderAnswer(prompt, one))}</div>`;
  }

  private renderAnswer(prompt: RetunePrompt, { answer, key, held }: GuidedAnswer) {
    const words = guidedWords.answers[prompt.code]?.[answer] ?? answer;
    const give = () => this.answer(prompt.code, answer);
    return html`<div><kbd aria-hidden="true">${key}</kbd>${
      held
        ? html`<redpoll-hold data-key=${key} label=${words} @redpoll-held=${give}></redpoll-hold>`
        : html`<button data-key=${key} aria-keyshortcuts=${key} ?disabled=${this.busy} @click=${give}>${words}</button>`
    }</div>`;
  }

  private renderStep(step: RetuneStep) {
    const where = step.to_hz === null ? "" : `, to ${megahertz(step.to_hz)} MHz`;
    return step.writes.map((write) => {
      const look = writeLook(write);
      const said = look === null ? (write.state ?? guidedWords.notAsked) : guidedWords.looks[look];
      return html`<li><span>${write.address} ${stepKindWords(step.kind)}${where}</span>${write.state === null ? html`<span>${said}</span>` : html`<strong class=${look ?? ""}>${said}</strong>`}
        ${write.reason === "" ? nothing : html`<span class="soft">${write.reason}</span>`}</li>`;
    });
  }

  private readonly begin = (): void => {
    const channel = this.renderRoot.querySelector("select")?.value ?? "";
    void this.take(beginGuided(this.plan, channel));
  };

  private readonly forget = (): void => {
    this.run = null;
    this.problem = "";
  };

  private answer(prompt: string, answer: string): void {
    if (this.run !== null && !this.busy) void this.take(answerRun(this.run.run_id, prompt, answer));
  }

  private onKeyDown(event: KeyboardEvent): void {
    const target = this.keyed(event);
    if (target === null || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    if (target instanceof HTMLButtonElement) {
      if (!event.repeat) target.click();
    } else target.press();
  }

  private onKeyUp(event: KeyboardEvent): void {
    const target = this.keyed(event);
    if (target !== null && !(target instanceof HTMLButtonElement)) target.letGo();
  }

  private keyed(event: KeyboardEvent): HTMLButtonElement | RedpollHold | null {
    if (!/^[1-9]$/.test(event.key)) return null;
    return this.renderRoot.querySelector<HTMLButtonElement | RedpollHold>(`[data-key="${event.key}"]`);
  }

  /** A run that was begun before this screen was opened is shown as well. */
  private async findRun(): Promise<void> {
    const plan = this.plan;
    const outcome = await listRuns();
    if (!outcome.ok || plan !== this.plan || this.run !== null) return;
    const run = guidedUnderWay(outcome.value.items, plan);
    if (run !== null) await this.poll(run.run_id);
  }

  private async take(asked: Promise<Outcome<RetuneRun>>): Promise<void> {
    const plan = this.plan;
    this.busy = true;
    const outcome = await asked;
    this.busy = false;
    if (!this.isConnected || plan !== this.plan) return;
    this.lost = !outcome.ok && outcome.problem === null;
    this.problem = outcome.ok || outcome.problem === null ? "" : outcome.problem.detail || outcome.problem.title;
    if (outcome.ok) this.show(outcome.value);
  }

  private show(run: RetuneRun): void {
    this.lost = false;
    const asksAnew = run.prompt !== null && run.prompt.code !== this.run?.prompt?.code;
    this.run = run;
    if (asksAnew) void this.updateComplete.then(() => this.holdFocus());
    this.again(run.run_id, isMoving(run.state));
  }

  /** The focus that was on an answer stays here, so that the keys go on; it is taken from nowhere else. */
  private holdFocus(): void {
    const active = this.ownerDocument.activeElement;
    if (active !== null && active !== this.ownerDocument.body && this.renderRoot.querySelector(":focus") === null)
      return;
    this.renderRoot.querySelector<HTMLElement>("button[data-key]")?.focus();
  }

  private again(runId: string, moving: boolean): void {
    clearTimeout(this.timer);
    if (moving) this.timer = setTimeout(() => void this.poll(runId), POLL_MS);
  }

  private async poll(runId: string): Promise<void> {
    const plan = this.plan;
    const outcome = await readRun(runId);
    if (!this.isConnected || plan !== this.plan) return;
    if (outcome.ok) return this.show(outcome.value);
    this.lost = outcome.problem === null;
    this.problem = outcome.problem === null ? "" : outcome.problem.detail || outcome.problem.title;
    this.again(runId, true);
  }
}
