import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query } from "lit/decorators.js";
import { paintLevels, readLevelsInk } from "../plots/levels";
import { megahertz, whole } from "../pure/number_words";
import { type Span, type Stretch, spanOf } from "../pure/spectrum";
import { actStateWords } from "../words/act_words";

/** What a scan has found so far as a small spectrum that grows; grey, for it needs nobody. */
@customElement("redpoll-levels")
export class RedpollLevels extends LitElement {
  static override styles = css`
    :host { display: block; }
    canvas { display: block; width: 100%; height: 120px; background: var(--strand-ground); }
    .ends { display: flex; justify-content: space-between; color: var(--text-soft); }
    p { margin: 4px 0 0; color: var(--text-soft); }
  `;

  @property({ attribute: false }) stretches: readonly Stretch[] = [];
  /** What the scan was asked for; without it, what it found. */
  @property({ attribute: false }) span: Span | null = null;
  @query("canvas") private readonly canvas?: HTMLCanvasElement;
  private readonly watcher = new ResizeObserver(() => this.paint());

  override render() {
    const span = this.span ?? spanOf(this.stretches);
    if (span === null) return html`<p>${actStateWords.nothingYet}</p>`;
    return html`<canvas role="img" aria-label=${`${actStateWords.levels}: ${this.strongestWords()}`}></canvas>
      <div class="ends"><span>${megahertz(span.fromHz)}</span><span>${megahertz(span.toHz)} MHz</span></div>
      ${this.stretches.length === 0 ? nothing : html`<p>${this.strongestWords()}</p>`}`;
  }

  override updated() {
    this.watcher.disconnect();
    if (this.canvas !== undefined) this.watcher.observe(this.canvas);
    this.paint();
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.watcher.disconnect();
  }

  private paint(): void {
    const { canvas } = this;
    const span = this.span ?? spanOf(this.stretches);
    if (canvas === undefined || canvas === null || span === null) return;
    const box = canvas.getBoundingClientRect();
    canvas.width = Math.max(Math.round(box.width * devicePixelRatio), 1);
    canvas.height = Math.max(Math.round(box.height * devicePixelRatio), 1);
    paintLevels(canvas, this.stretches, span, readLevelsInk(this));
  }

  private strongestWords(): string {
    let [level, at] = [Number.NEGATIVE_INFINITY, 0];
    for (const { start_hz, step_hz, levels_dbm } of this.stretches) {
      for (const [index, one] of Array.from(levels_dbm).entries()) {
        if (one !== null && one > level) [level, at] = [one, start_hz + index * step_hz];
      }
    }
    return Number.isFinite(level) ? actStateWords.strongest(whole(level), megahertz(at)) : actStateWords.nothingYet;
  }
}
