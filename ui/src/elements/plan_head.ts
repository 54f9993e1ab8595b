import { css, html, LitElement, nothing } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { chartWords } from "../words/chart_words";
import { railStyles } from "./rail_styles";

export interface PlanHeadFacts {
  readonly plans: readonly { readonly name: string; readonly title: string }[];
  readonly name: string;
  readonly title: string;
  /** How the plan stands, in words. */
  readonly stands: string;
  /** The search under way, or null. */
  readonly search: { readonly progress: number; readonly words: string } | null;
  /** Whether this person may change plans. */
  readonly mayWrite: boolean;
  /** Why the search can't begin; empty where it can. */
  readonly cant: string;
}

const SECONDS_DEFAULT = 20;
const SECONDS_MAXIMUM = 3600;

/**
 * Which plan, how it stands, and the search for it.
 *
 * Events: `redpoll-plan-open` with a name, `redpoll-plan-make` with a title, `redpoll-find` with seconds, `redpoll-stop`.
 */
@customElement("redpoll-plan-head")
export class RedpollPlanHead extends LitElement {
  static override styles = [
    railStyles,
    css`
      :host { display: flex; flex-wrap: wrap; align-items: center; gap: 6px 14px; padding: 6px 16px; }
      label, form { display: flex; align-items: center; gap: 8px; color: var(--text-soft); margin: 0; }
      select { font-weight: 620; max-width: 22em; padding: 0 6px; }
      input.seconds { width: 4.4em; text-align: right; }
      .stands { flex: 1 1 20em; min-width: 0; }
      .search { flex: 1 1 20em; display: flex; align-items: center; gap: 12px; min-width: 0; }
      progress { appearance: none; flex: 1; min-width: 60px; max-width: 260px; height: 12px; border: 1px solid var(--edge); background: var(--sunken); }
      progress::-webkit-progress-bar { background: var(--sunken); }
      progress::-webkit-progress-value { background: var(--mark); }
      progress::-moz-progress-bar { background: var(--mark); }
      button.main { border: 2px solid var(--text); font-weight: 620; }
      button.main:disabled { border: 1px dotted var(--edge); font-weight: 400; }
      @media (max-width: 760px) { :host { padding: 6px 10px; } .stands, .search { flex-basis: 100%; } select { max-width: 12em; } }
    `,
  ];

  @property({ attribute: false }) facts: PlanHeadFacts | null = null;
  @state() private naming = false;

  override render() {
    const facts = this.facts;
    if (facts === null) return html`<p class="soft">${chartWords.loading}</p>`;
    return html`${this.renderWhich(facts)}
      ${facts.search === null ? html`<span class="stands" role="status">${facts.stands}</span>` : renderSearch(facts.search)}
      ${facts.mayWrite && facts.name !== "" ? this.renderActs(facts) : nothing}`;
  }

  /** Begins to search, as its button does. */
  find(): void {
    if (this.facts === null || this.facts.cant !== "" || this.facts.search !== null) return;
    const field = this.renderRoot.querySelector<HTMLInputElement>("input.seconds");
    const seconds = Math.min(Math.max(Math.round(field?.valueAsNumber || SECONDS_DEFAULT), 1), SECONDS_MAXIMUM);
    this.tell("redpoll-find", seconds);
  }

  private renderWhich(facts: PlanHeadFacts) {
    if (this.naming) return this.renderNaming();
    const known = facts.plans.some((one) => one.name === facts.name);
    const shown = known || facts.name === "" ? facts.plans : [...facts.plans, { name: facts.name, title: facts.title }];
    return html`${
      shown.length === 0
        ? html`<span class="soft">${chartWords.noPlans}</span>`
        : html`<label>${chartWords.plans} <select @change=${this.onOpen}>
        ${shown.map((one) => html`<option value=${one.name} ?selected=${one.name === facts.name}>${one.title}</option>`)}</select></label>`
    }
      ${facts.mayWrite ? html`<button @click=${this.beginNaming}>${chartWords.newPlan}</button>` : nothing}`;
  }

  private renderNaming() {
    return html`<form @submit=${this.onMake} @keydown=${this.onNamingKey}><label>${chartWords.newName}
      <input name="title" required maxlength="60" autocomplete="off" /></label><button class="main">${chartWords.make}</button></form>`;
  }

  private renderActs(facts: PlanHeadFacts) {
    if (facts.search !== null)
      return html`<button class="main" @click=${() => this.tell("redpoll-stop")}>${chartWords.stop}</button>`;
    return html`<button class="main" ?disabled=${facts.cant !== ""} title=${facts.cant} @click=${this.find}>${chartWords.find}</button>
      <label>${chartWords.searchFor} <input class="seconds" type="number" min="1" max=${SECONDS_MAXIMUM} .value=${`${SECONDS_DEFAULT}`} /> ${chartWords.seconds}</label>`;
  }

  private beginNaming(): void {
    this.naming = true;
    void this.updateComplete.then(() => this.renderRoot.querySelector("input")?.focus());
  }

  private onNamingKey(event: KeyboardEvent): void {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    this.naming = false;
  }

  private onMake(event: SubmitEvent): void {
    event.preventDefault();
    const title = new FormData(event.target as HTMLFormElement).get("title");
    this.naming = false;
    if (typeof title === "string" && title.trim() !== "") this.tell("redpoll-plan-make", title.trim());
  }

  private onOpen(event: Event): void {
    this.tell("redpoll-plan-open", (event.target as HTMLSelectElement).value);
  }

  private tell(name: string, detail: unknown = null): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

function renderSearch({ progress, words }: { readonly progress: number; readonly words: string }) {
  return html`<span class="search"><progress aria-label=${chartWords.progress} max="1" .value=${progress}></progress><span role="status">${words}</span></span>`;
}
