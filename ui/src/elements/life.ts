import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { Quality } from "../protocol/quality";
import { ageWords, minutesWords, whole } from "../pure/number_words";
import { ABSENT, isGood, type Reading } from "../pure/reading";
import { words } from "../words/english";

/** Cells drawn full when only minutes are known; common practice for a long evening. */
const LONGEST_MINUTES = 480;

/** How long a pack's cells last by its own report, and a mark where the evening ends for them. Unknown is blank, never full. */
@customElement("redpoll-life")
export class RedpollLife extends LitElement {
  static override styles = css`
    :host { display: flex; align-items: center; gap: 8px; min-width: 0; }
    .trough { position: relative; display: var(--life-bar, block); flex: 1 1 30px; min-width: 18px; height: 5px; background: var(--trough); }
    .need { position: absolute; top: -4px; bottom: -4px; width: 3px; background: var(--text); }
    .left { display: block; height: 100%; background: var(--mark); transform-origin: left; }
    .words { flex: none; min-width: 4.2em; white-space: nowrap; }
  `;

  @property({ attribute: false }) minutes: Reading = ABSENT;
  @property({ attribute: false }) fraction: Reading = ABSENT;

  /** The minutes that the evening still needs of these cells; NaN where nothing says so. */
  @property({ attribute: false }) needed = Number.NaN;

  /** Where the evening ends on the bar: at its end where the cells won't last. */
  private get need(): number {
    if (!isGood(this.minutes) || !(this.needed > 0)) return Number.NaN;
    return Math.min((this.share * this.needed) / Math.max(this.minutes.value, 1), 1);
  }

  private get share(): number {
    if (isGood(this.fraction)) return this.fraction.value;
    return isGood(this.minutes) ? Math.min(this.minutes.value / LONGEST_MINUTES, 1) : Number.NaN;
  }

  private get said(): string {
    if (isGood(this.minutes)) return minutesWords(this.minutes.value);
    if (isGood(this.fraction)) return `${whole(this.fraction.value * 100)} %`;
    const last = this.minutes.quality === Quality.Absent ? this.fraction : this.minutes;
    if (last.quality === Quality.Absent) return "";
    return last.ageS >= 1 && Number.isFinite(last.ageS) ? words.old(ageWords(last.ageS)) : words.state.unknown;
  }

  override render() {
    if (this.said === "") return nothing;
    const share = this.share;
    return html`<span class="trough" aria-hidden="true">${Number.isNaN(share) ? nothing : html`<i class="left"></i>`}${Number.isNaN(this.need) ? nothing : html`<i class="need"></i>`}</span>
      <span class="words">${this.said}</span>`;
  }

  override updated() {
    const left = this.renderRoot.querySelector<HTMLElement>(".left");
    if (left !== null) left.style.transform = `scaleX(${this.share})`;
    const need = this.renderRoot.querySelector<HTMLElement>(".need");
    if (need !== null) need.style.left = `calc(${this.need * 100}% - 1px)`;
  }
}
