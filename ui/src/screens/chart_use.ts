import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { EXPORT_FORMATS, exportAddress } from "../data/plans";
import type { Outcome } from "../data/request";
import { applyPlan, cancelRun, previewPlan, readRun, rollBackRun } from "../data/retunes";
import { railStyles } from "../elements/rail_styles";
import type { RetunePreview, RetuneRun, RetuneStep } from "../protocol/model";
import { ageWords, megahertz } from "../pure/number_words";
import type { RowFacts } from "../pure/row";
import { chartWords } from "../words/chart_words";
import { stepKindWords } from "../words/retune_words";
import { requestProblem } from "./acts";
import "../elements/hold";

const { use } = chartWords;
const POLL_MS = 500;
const MOVING: readonly RetuneRun["state"][] = ["running", "asking", "rolling back"];

/** What is done with a plan that was found: handed on, given to channels, put on the air. Event: `redpoll-give`. */
@customElement("redpoll-chart-use")
export class RedpollChartUse extends LitElement {
  static override styles = [
    railStyles,
    css`
      .links { display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 6px 12px; }
      a { color: var(--text); display: flex; align-items: center; min-height: 34px; text-underline-offset: 3px; }
      li { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 2px 12px; padding: 5px 0; border-top: 1px solid var(--rule); }
      li .soft { grid-column: 1 / -1; }
      @media (max-width: 760px), (pointer: coarse) { a { min-height: 44px; } }
    `,
  ];

  @property() plan = "";
  @property({ attribute: false }) rows: readonly RowFacts[] = [];
  /** Which revision is shown; a preview of another is forgotten. */
  @property() revision = "";
  /** How many carriers are meant for a channel, and how many there are. */
  @property({ attribute: false }) given: readonly [number, number] = [0, 0];
  /** Whether the plan stands as it is shown, with carriers. */
  @property({ type: Boolean }) kept = false;
  @property({ type: Boolean }) locked = false;
  @state() private preview: RetunePreview | null = null;
  @state() private run: RetuneRun | null = null;
  @state() private reckoning = false;
  @state() private problem = "";
  private timer: ReturnType<typeof setTimeout> | undefined;

  override willUpdate(changed: PropertyValues<this>) {
    if (!changed.has("plan") && !changed.has("revision")) return;
    this.preview = null;
    if (changed.has("plan")) this.run = null;
    this.problem = "";
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearTimeout(this.timer);
  }

  override render() {
    if (!this.kept) return html`<p class="soft">${use.notYet}</p>`;
    return html`<h2>${use.hand}</h2>
      <div class="links">${EXPORT_FORMATS.map((format) => html`<a href=${exportAddress(this.plan, format)} target="_blank" rel="noopener">${use.formats[format]}</a>`)}</div>
      ${this.locked ? nothing : this.renderChannels()}
      ${this.locked ? nothing : this.renderAir()}
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}`;
  }

  private renderChannels() {
    return html`<h2>${use.channels}</h2><p class="soft">${use.channelsHelp(...this.given)}</p>
      <button @click=${() => this.dispatchEvent(new CustomEvent("redpoll-give", { bubbles: true, composed: true }))}>${use.give}</button>`;
  }

  private renderAir() {
    const { preview, run } = this;
    return html`<h2>${use.air}</h2>
      ${run === null || !MOVING.includes(run.state) ? html`<button ?disabled=${this.reckoning} @click=${this.askPreview}>${this.reckoning ? use.previewing : use.preview}</button>` : nothing}
      ${run !== null ? this.renderRun(run) : preview !== null ? this.renderPreview(preview) : nothing}`;
  }

  private renderPreview(preview: RetunePreview) {
    const { steps, left_out, orphans } = preview;
    return html`<p>${use.steps(steps.length, preview.already, ageWords(preview.seconds_at_most))}</p>
      ${preview.show_live ? html`<p class="problem">${use.live}</p>` : nothing}
      ${steps.length === 0 ? html`<p class="soft">${use.nothing}</p>` : nothing}
      ${steps.length > 0 && !preview.show_live ? html`<redpoll-hold label=${use.apply(steps.length)} @redpoll-held=${this.apply}></redpoll-hold>` : nothing}
      ${left_out.length === 0 ? nothing : html`<h2>${use.leftOut}</h2><ul>${left_out.map((one) => html`<li><span>${this.names(one.channels)}</span><span>${megahertz(one.to_hz)}</span><span class="soft">${one.reason}</span></li>`)}</ul>`}
      ${orphans.length === 0 ? nothing : html`<h2>${use.orphans}</h2><ul>${orphans.map((one) => html`<li><span>${this.names([one.channel])}</span><span class="soft">${one.pack}</span></li>`)}</ul>`}
      <ul>${steps.map((step) => this.renderStep(step, false))}</ul>`;
  }

  private renderRun(run: RetuneRun) {
    const done = run.steps.filter((step) => step.state === "done").length;
    return html`<p role="status">${use.run(run.state, done, run.steps.length)}${run.reason === "" ? "" : `: ${run.reason}`}</p>
      <div class="acts">${run.state === "running" ? html`<button @click=${() => void this.take(cancelRun(run.run_id))}>${use.cancel}</button>` : nothing}
        ${run.can_roll_back && !MOVING.includes(run.state) ? html`<redpoll-hold label=${use.rollBack} @redpoll-held=${() => void this.take(rollBackRun(run.run_id))}></redpoll-hold>` : nothing}</div>
      <ul>${run.steps.map((step) => this.renderStep(step, true))}</ul>`;
  }

  private renderStep(step: RetuneStep, running: boolean) {
    const where =
      step.to_hz === null ? stepKindWords(step.kind) : `${stepKindWords(step.kind)} ${megahertz(step.to_hz)}`;
    const notes = [
      running ? [step.state, step.reason].filter(Boolean).join(", ") : "",
      step.silent_at_most_s > 0 ? use.mutes(`${Math.ceil(step.silent_at_most_s)}`) : "",
      step.by_hand ? use.byHand : "",
      ...step.cautions,
    ].filter(Boolean);
    return html`<li><span>${this.names(step.channels)}</span><span>${where}</span><span class="soft">${notes.join(" · ")}</span></li>`;
  }

  private names(channels: readonly string[]): string {
    return channels
      .map((channel) => {
        const row = this.rows.find((one) => one.channel === channel);
        return row === undefined ? channel : `${row.number} ${row.part}`;
      })
      .join(", ");
  }

  private readonly askPreview = async (): Promise<void> => {
    this.run = null;
    this.problem = "";
    this.reckoning = true;
    const outcome = await previewPlan(this.plan);
    this.reckoning = false;
    if (outcome.ok) this.preview = outcome.value;
    else this.problem = requestProblem(outcome);
  };

  private readonly apply = (): void => {
    if (this.preview !== null) void this.take(applyPlan(this.plan, this.preview.plan_revision));
  };

  private async take(asked: Promise<Outcome<RetuneRun>>): Promise<void> {
    const outcome = await asked;
    if (!this.isConnected) return;
    this.problem = requestProblem(outcome);
    if (!outcome.ok) return;
    this.run = outcome.value;
    clearTimeout(this.timer);
    if (MOVING.includes(outcome.value.state)) {
      this.timer = setTimeout(() => void this.take(readRun(outcome.value.run_id)), POLL_MS);
    }
  }
}
