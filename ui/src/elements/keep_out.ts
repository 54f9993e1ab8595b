import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { decimal, megahertz } from "../pure/number_words";
import type { PlanExclusion } from "../pure/plan_request";
import { typedStretch } from "../pure/stretches";
import { scoutWords } from "../words/scout_words";

const { keep } = scoutWords;

/** A plan that may be chosen. */
export interface PlanChoice {
  readonly name: string;
  readonly title: string;
}

/**
 * What a plan keeps out, as a list; a stretch more can be typed.
 *
 * Events: `redpoll-plan-choose` (name), `redpoll-plan-begin` (title), `redpoll-keep-out` (fromHz, toHz, words), `redpoll-keep-out-taken`,
 * `redpoll-let-in-at` (index), `redpoll-stretch-look`.
 */
@customElement("redpoll-keep-out")
export class RedpollKeepOut extends LitElement {
  static override styles = css`
    :host { display: block; }
    .plan { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 10px; }
    .soft { color: var(--text-soft); }
    p { margin: 4px 0 8px; }
    ul { margin: 8px 0; padding: 0; list-style: none; }
    li { display: grid; grid-template-columns: minmax(0, 1fr) auto; align-items: center; border-bottom: 1px solid var(--rule); }
    form { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr) auto; gap: 6px; align-items: end; margin-top: 8px; }
    details { margin-top: 10px; }
    summary { cursor: pointer; min-height: 32px; display: list-item; }
    form.begin { grid-template-columns: minmax(0, 1fr) auto; }
    label { display: grid; gap: 2px; color: var(--text-soft); min-width: 0; }
    input, select, button { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); padding: 4px 10px; min-height: 38px; min-width: 0; box-sizing: border-box; width: 100%; }
    select, button { width: auto; }
    button { background: none; cursor: pointer; }
    button:disabled { color: var(--text-soft); border-style: dotted; cursor: default; }
    li button { border: 0; min-height: 34px; padding: 2px 6px; text-align: left; }
    li .in { color: var(--text-soft); text-decoration: underline; text-underline-offset: 3px; }
    :is(input, select, button, summary):focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
    .problem { font-weight: 600; }
    .problem:empty { display: none; }
    .taken { width: 100%; margin-top: 8px; }
    @media (max-width: 760px), (pointer: coarse) { input, select, button, li button, summary { min-height: 44px; } }
  `;

  @property({ attribute: false }) plans: readonly PlanChoice[] = [];
  @property() chosen = "";
  @property({ attribute: false }) exclusions: readonly PlanExclusion[] = [];
  /** What a first plan would be called; empty where none can be begun, for nothing was scanned. */
  @property() suggested = "";
  /** How many stretches are taken and not kept out. */
  @property({ type: Number }) taken = 0;
  /** Whether own carriers are among them: then the transmitters were on. */
  @property({ type: Boolean }) ownTaken = false;
  @property() standing = "";
  @property({ type: Boolean }) allowed = false;
  @state() private problem = "";
  @query("#stretch") private readonly stretch?: HTMLInputElement;
  @query("#title") private readonly titleField?: HTMLInputElement;
  @query("#why") private readonly why?: HTMLInputElement;

  override render() {
    return html`${this.plans.length === 0 ? html`<p class="soft">${keep.noPlanAdvice}</p><p role="status">${this.standing}</p>` : this.renderPlan()}
      ${this.renderBegin()}`;
  }

  private renderPlan() {
    return html`<div class="plan"><label class="soft" for="plan">${keep.plan}</label>
        <select id="plan" @change=${this.choose}>${this.plans.map((plan) => html`<option value=${plan.name} ?selected=${plan.name === this.chosen}>${plan.title || plan.name}</option>`)}</select>
        <span class="soft" role="status">${this.standing}</span></div>
      ${this.allowed ? nothing : html`<p class="soft">${keep.noEngineer}</p>`}
      ${this.renderTaken()}
      ${this.allowed ? this.renderForm() : nothing}
      ${this.exclusions.length === 0 ? html`<p class="soft">${keep.none}</p>` : html`<ul>${this.exclusions.map((one, index) => this.renderOne(one, index))}</ul>`}`;
  }

  private renderBegin() {
    if (!this.allowed || this.suggested === "") return nothing;
    return html`<details ?open=${this.plans.length === 0}><summary>${keep.begin}</summary>
      <form class="begin" @submit=${this.begin}>
        <label for="title">${keep.beginTitle}<input id="title" maxlength="60" required autocomplete="off" .value=${this.suggested}></label>
        <button>${keep.beginIt}</button>
      </form><p class="soft">${keep.beginHint}</p></details>`;
  }

  private renderTaken() {
    if (!this.allowed) return nothing;
    const words = this.taken === 0 ? keep.takenNone : keep.taken(this.taken, this.ownTaken);
    return html`<button class="taken" ?disabled=${this.taken === 0} @click=${() => this.tell("redpoll-keep-out-taken", {})}>${words}</button>`;
  }

  private renderOne(one: PlanExclusion, index: number) {
    const [from, to] = [megahertz(one.start_hz), megahertz(one.stop_hz)];
    const look = () => this.tell("redpoll-stretch-look", { fromHz: one.start_hz, toHz: one.stop_hz });
    return html`<li><button @click=${look}>${from} – ${to} <span class="soft">${decimal((one.stop_hz - one.start_hz) / 1e6, 3)} MHz ${one.words === "" ? nothing : html`· ${one.words}`}</span></button>
      ${this.allowed ? html`<button class="in" aria-label=${keep.removeLabel(from, to)} @click=${() => this.tell("redpoll-let-in-at", { index })}>${keep.remove}</button>` : nothing}</li>`;
  }

  private renderForm() {
    return html`<form @submit=${this.add}>
        <label for="stretch">${keep.stretch}<input id="stretch" autocomplete="off" inputmode="decimal" placeholder=${keep.stretchHint}></label>
        <label for="why">${keep.why}<input id="why" autocomplete="off" maxlength="64" placeholder=${keep.whyHint}></label>
        <button>${keep.add}</button>
      </form>
      <p class="problem" role="alert">${this.problem}</p>`;
  }

  private begin(event: Event): void {
    event.preventDefault();
    const title = this.titleField?.value.trim() ?? "";
    if (title !== "") this.tell("redpoll-plan-begin", { title });
  }

  private choose(event: Event): void {
    this.tell("redpoll-plan-choose", { name: (event.target as HTMLSelectElement).value });
  }

  private add(event: Event): void {
    event.preventDefault();
    const stretch = typedStretch(this.stretch?.value ?? "");
    this.problem = stretch === null ? keep.noStretch : "";
    if (stretch === null) return;
    this.tell("redpoll-keep-out", { ...stretch, words: this.why?.value.trim() ?? "" });
    for (const field of [this.stretch, this.why]) if (field !== undefined) field.value = "";
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}
