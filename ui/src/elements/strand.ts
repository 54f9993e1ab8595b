import { css, html, LitElement } from "lit";
import { customElement, property, query } from "lit/decorators.js";
import { StrandField } from "../plots/field";
import { readInk } from "../plots/strand_ink";
import type { Bins } from "../pure/bins";

/** One row's strand by itself. `now` gives the present in the seconds of the bins; it is asked for each picture. */
@customElement("redpoll-strand")
export class RedpollStrand extends LitElement {
  static override styles = css`
    :host { display: block; position: relative; height: 40px; }
    canvas { position: absolute; inset: 0; }
  `;

  @property({ attribute: false }) bins: Bins | null = null;
  @property({ attribute: false }) now: () => number = () => 0;
  /** What the strand shows, for those who can't see it. */
  @property() description = "";
  @query("canvas") private readonly canvas?: HTMLCanvasElement;
  private field: StrandField | null = null;
  private placed = "";
  private placedBins: Bins | null = null;
  private request = 0;

  override render() {
    return html`<canvas role="img" aria-label=${this.description}></canvas>`;
  }

  override connectedCallback() {
    super.connectedCallback();
    const step = (frameMs: number) => {
      this.draw(frameMs);
      this.request = requestAnimationFrame(step);
    };
    this.request = requestAnimationFrame(step);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    cancelAnimationFrame(this.request);
  }

  private place(field: StrandField, bins: Bins): void {
    const { clientWidth, clientHeight } = this;
    const placed = `${clientWidth} ${clientHeight} ${devicePixelRatio}`;
    if (placed === this.placed && bins === this.placedBins) return;
    this.placed = placed;
    this.placedBins = bins;
    field.resize(clientWidth, clientHeight, devicePixelRatio);
    field.place([{ bins, top: 0, height: clientHeight }]);
  }

  private draw(frameMs: number): void {
    if (this.canvas === undefined || this.bins === null) return;
    this.field ??= new StrandField(this.canvas, readInk(this));
    this.place(this.field, this.bins);
    this.field.draw(this.now(), frameMs);
  }
}
