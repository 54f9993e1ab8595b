import { css, html, LitElement } from "lit";
import { customElement, property } from "lit/decorators.js";
import type { Picture } from "../data/picture";
import type { Store } from "../data/store";
import { stageWords } from "../words/stage_words";
import type { StageScreen } from "./stages";

/** The frequencies: which carriers stand where, and what stands in their way. */
@customElement("redpoll-chart")
export class RedpollChart extends LitElement implements StageScreen {
  static override styles = css`:host { display: block; padding: 16px; }`;

  @property({ attribute: false }) store: Store | null = null;
  @property({ attribute: false }) picture: Picture | null = null;
  readonly keyList = [];

  override render() {
    return html`<h2>${stageWords.names.chart.name}</h2>`;
  }

  press(_event: KeyboardEvent): boolean {
    return false;
  }

  recolour(): void {}
}
