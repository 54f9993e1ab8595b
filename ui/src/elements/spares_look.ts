import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { lookAtSpares } from "../data/retunes";
import { readSurveys } from "../data/surveys";
import type { PlanSpare, Problem } from "../protocol/model";
import { isLookTooOld } from "../pure/guided_facts";
import { ageWords, megahertz, whole } from "../pure/number_words";
import { chartWords } from "../words/chart_words";
import { guidedWords } from "../words/guided_words";
import { guidedStyles } from "./guided_styles";
import { railStyles } from "./rail_styles";

const SURVEYS_AT_MOST = 5;

/** Holds a plan's spares against the newest kept surveys and says what came of it. Event: `redpoll-spares-looked`. */
@customElement("redpoll-spares-look")
export class RedpollSparesLook extends LitElement {
  static override styles = [railStyles, guidedStyles];

  @property() plan = "";
  @property({ type: Number }) nowUtcUs = 0;
  /** What came of the last look; null before it. */
  @property({ attribute: false }) spares: readonly PlanSpare[] | null = null;
  @state() private surveys = 0;
  @state() private looking = false;
  @state() private problem = "";

  override willUpdate(changed: PropertyValues<this>) {
    if (!changed.has("plan") || changed.get("plan") === undefined) return;
    this.spares = null;
    this.problem = "";
  }

  override render() {
    return html`<section><h2>${guidedWords.spares}</h2>
      <button ?disabled=${this.looking} @click=${this.look}>${this.looking ? guidedWords.looking : guidedWords.look}</button>
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      ${this.spares === null ? nothing : this.renderSpares(this.spares)}</section>`;
  }

  private renderSpares(spares: readonly PlanSpare[]) {
    if (spares.length === 0) return html`<p role="status">${guidedWords.noSpares}</p>`;
    const ranked = [...spares].sort((one, other) => one.rank - other.rank);
    return html`${this.surveys === 0 ? nothing : html`<p role="status">${guidedWords.lookedIn(this.surveys)}</p>`}
      <ul>${ranked.map((one) => this.renderSpare(one))}</ul>`;
  }

  private renderSpare(spare: PlanSpare) {
    const { look, words } = spareLook(spare, this.nowUtcUs);
    return html`<li><span>${megahertz(spare.frequency_hz)} MHz · ${spare.group}</span><strong class=${look === "unknown" ? "unknown" : ""}>${guidedWords.spareLooks[look]}</strong><span class="soft">${words}</span></li>`;
  }

  private readonly look = async (): Promise<void> => {
    const plan = this.plan;
    this.looking = true;
    this.problem = "";
    const kept = await readSurveys();
    const names = kept.ok ? kept.value.items.slice(0, SURVEYS_AT_MOST).map((one) => one.scan_id) : [];
    if (!kept.ok || names.length === 0) {
      this.looking = false;
      this.problem = kept.ok ? guidedWords.noSurveys : said(kept.problem);
      return;
    }
    const outcome = await lookAtSpares(plan, names);
    this.looking = false;
    if (plan !== this.plan) return;
    if (!outcome.ok) {
      this.problem = said(outcome.problem);
      return;
    }
    this.surveys = names.length;
    this.spares = outcome.value.spares;
    this.dispatchEvent(new CustomEvent("redpoll-spares-looked", { bubbles: true, composed: true }));
  };
}

function said(problem: Problem | null): string {
  return problem === null ? chartWords.noAnswer : problem.detail || problem.title;
}

/** What the last look at a spare is worth, in words. */
function spareLook(spare: PlanSpare, nowUtcUs: number) {
  const { quiet_at_utc_us: at, quiet_dbm: level } = spare;
  if (at === null && level === null) return { look: "unknown", words: guidedWords.neverHeard } as const;
  if (at === null) return { look: "taken", words: guidedWords.takenAt(whole(level ?? 0)) } as const;
  const age = ageWords((nowUtcUs - at) / 1e6);
  const heard = level === null ? guidedWords.heardNoLevel(age) : guidedWords.heard(whole(level), age);
  if (isLookTooOld(at, nowUtcUs)) return { look: "old", words: `${heard}; ${guidedWords.tooOld}` } as const;
  return { look: "quiet", words: heard } as const;
}
