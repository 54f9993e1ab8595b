import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { formStyles } from "../elements/form_styles";
import { dangerOfAct } from "../pure/act_danger";
import { megahertz } from "../pure/number_words";
import type { Span } from "../pure/spectrum";
import { typedStretch } from "../pure/stretches";
import { actStateOf, actStateWords, actWords, harmWords } from "../words/act_words";
import { words } from "../words/english";
import { scoutWords } from "../words/scout_words";
import type { ScanAsked, ScanRun } from "./scout_run";
import { type Scanner, stepsFor, usualSpan } from "./scout_scanners";
import "../elements/hold";

const { take } = scoutWords;
/** How often over; the console keeps the levels of the last eight scans. */
const SWEEPS = [1, 4, 8];

/** Scans with what stands here: which receiver, from where to where, under which place. Event: `redpoll-scan-begin`. */
@customElement("redpoll-scout-take")
export class RedpollScoutTake extends LitElement {
  static override styles = [formStyles, css`:host { display: block; padding: 8px 14px 12px; }`];

  @property({ attribute: false }) scanners: readonly Scanner[] = [];
  /** Changes with time, so that a scan under way is drawn anew. */
  @property({ attribute: false }) at = 0;
  @property({ attribute: false }) run: ScanRun | null = null;
  /** What was scanned last. */
  @property({ attribute: false }) last: Span | null = null;
  /** Why nobody may scan here, or empty. */
  @property() locked = "";
  @state() private chosen = "";
  @state() private place = "";
  @state() private typed: string | null = null;
  @state() private stepHz = 0;
  @state() private sweeps = 1;
  @query("#place") private readonly placeField?: HTMLInputElement;

  override render() {
    const { run } = this;
    if (run !== null && run.asked !== null) return this.renderRun(run, run.asked);
    if (this.scanners.length === 0) return html`<p class="soft">${take.nobody}</p>`;
    if (this.locked !== "") return html`<p class="soft">${this.locked}</p>`;
    return html`<form @submit=${(event: Event) => event.preventDefault()}>
      <label for="place">${take.where}<input id="place" maxlength="80" autocomplete="off" placeholder=${take.whereHint}
        .value=${this.place} @input=${(event: Event) => this.setPlace(event)}></label>
      <label for="with">${take.with}<select id="with" @change=${(event: Event) => this.pick(event)}>
        ${this.scanners.map(({ address, name }) => html`<option value=${address} ?selected=${address === this.scanner?.address}>${name}</option>`)}
      </select></label>
      <div class="three">
        <label for="span">${scoutWords.keep.stretch}<input id="span" autocomplete="off" .value=${this.spanText}
          @input=${(event: Event) => this.setSpan(event)}></label>
        <label for="step">${take.step}<select id="step" @change=${(event: Event) => this.setStep(event)}>
          ${this.steps.map((step) => html`<option value=${step} ?selected=${step === this.step}>${step / 1000} kHz</option>`)}
        </select></label>
        <label for="sweeps">${take.sweeps}<select id="sweeps" @change=${(event: Event) => this.setSweeps(event)}>
          ${SWEEPS.map((sweeps) => html`<option value=${sweeps} ?selected=${sweeps === this.sweeps}>${sweeps}</option>`)}
        </select></label>
      </div>
      <p class="advice">${take.off}</p>
      ${this.renderDo()}
      <p class="problem" role="alert">${run?.problem ?? ""}</p>
    </form>`;
  }

  /** Puts the cursor where the place is typed. */
  focusPlace(): void {
    this.placeField?.focus();
  }

  private renderDo() {
    const { asked, scanner } = this;
    if (scanner === undefined) return nothing;
    if (asked === null) return html`<p class="soft">${this.place === "" ? take.placeNeeded : take.spanNeeded}</p>`;
    const danger = dangerOfAct(scanner.act);
    const begin = () => this.tell(asked);
    if (danger === "none") return html`<button @click=${begin}>${actWords(scanner.act)}</button>`;
    const label = actStateWords.hold(
      actWords(scanner.act),
      scanner.name,
      take.times(harmWords(scanner.act, danger), asked.sweeps),
    );
    return html`<redpoll-hold .label=${label} @redpoll-held=${begin}></redpoll-hold>`;
  }

  private renderRun(run: ScanRun, asked: ScanAsked) {
    const state = run.command === null ? words.commandStates.requested : this.stateWords(run);
    const percent = run.fraction === null ? "" : actStateWords.progress(`${Math.round(run.fraction * 100)}`);
    return html`<div class="form" role="status">
      <p><strong>${asked.place}</strong> · ${megahertz(asked.span.fromHz)} – ${megahertz(asked.span.toHz)} MHz</p>
      <progress max="1" value=${run.fraction ?? 0} aria-label=${percent || state}></progress>
      <p>${[asked.sweeps === 1 ? "" : take.sweep(Math.min(run.done.length + 1, asked.sweeps), asked.sweeps), state, percent, run.keeping === "now" ? take.keeping : ""].filter((part) => part !== "").join(" · ")}</p>
      ${run.running ? html`<p class="soft">${take.keeps}</p><button @click=${() => run.cancel()}>${actStateWords.cancel}</button>` : nothing}
      ${run.done.length > 0 && !run.running && run.keeping !== "now" ? html`<button @click=${() => run.keep()}>${take.keepLate(run.done.length)}</button>` : nothing}
      ${run.running || run.keeping === "now" ? nothing : html`<button @click=${() => this.drop(run)}>${actStateWords.seen}</button>`}
      <p class="problem" role="alert">${run.problem}</p>
    </div>`;
  }

  private stateWords({ command }: ScanRun): string {
    if (command === null) return "";
    const state = actStateOf(command, (one) => words.commandStates[one]);
    return command.reason === "" ? state : `${state}: ${command.reason}`;
  }

  private drop(run: ScanRun): void {
    run.forget();
    this.requestUpdate();
  }

  private get scanner(): Scanner | undefined {
    return this.scanners.find((one) => one.address === this.chosen) ?? this.scanners[0];
  }

  private get spanText(): string {
    const { fromHz, toHz } = usualSpan(this.scanner, this.last);
    return this.typed ?? `${fromHz / 1e6} – ${toHz / 1e6}`;
  }

  private get steps(): number[] {
    return stepsFor(this.scanner, typedStretch(this.spanText) ?? usualSpan(this.scanner, this.last));
  }

  private get step(): number | undefined {
    return this.steps.includes(this.stepHz) ? this.stepHz : (this.steps.find((one) => one >= 25_000) ?? this.steps[0]);
  }

  private get asked(): ScanAsked | null {
    const [span, { scanner, step }] = [typedStretch(this.spanText), this];
    const place = this.place.trim();
    if (span === null || scanner === undefined || step === undefined || place === "") return null;
    return { address: scanner.address, place, span, stepHz: step, sweeps: this.sweeps };
  }

  private setPlace(event: Event): void {
    this.place = (event.target as HTMLInputElement).value;
  }

  private setSpan(event: Event): void {
    this.typed = (event.target as HTMLInputElement).value;
  }

  private setStep(event: Event): void {
    this.stepHz = Number((event.target as HTMLSelectElement).value);
  }

  private setSweeps(event: Event): void {
    this.sweeps = Number((event.target as HTMLSelectElement).value);
  }

  private pick(event: Event): void {
    this.chosen = (event.target as HTMLSelectElement).value;
  }

  private tell(asked: ScanAsked): void {
    this.dispatchEvent(new CustomEvent("redpoll-scan-begin", { detail: asked, bubbles: true, composed: true }));
  }
}
