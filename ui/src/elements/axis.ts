import { css, html, LitElement } from "lit";
import { customElement } from "lit/decorators.js";
import { AXIS_MARKS_S, axisPosition } from "../pure/age_axis";
import { ageWords } from "../pure/number_words";
import { words } from "../words/english";

/** The heading above the rows: what the columns are, and the axis that all strands share. */
@customElement("redpoll-axis")
export class RedpollAxis extends LitElement {
  static override styles = css`
    :host { display: grid; grid-template-columns: var(--row-columns); align-items: center; color: var(--text-soft); white-space: nowrap; }
    .branches { grid-column: 5; }
    .level { grid-column: 6; text-align: right; }
    .peak { grid-column: 7; padding-left: 14px; }
    .life { grid-column: 8; padding-left: 16px; }
    .ages { grid-column: 10; position: relative; height: 100%; }
    .age { position: absolute; top: 50%; transform: translateY(-50%); padding-left: 5px; border-left: 1px solid var(--edge); }
    .now { color: var(--text); font-weight: 650; border-color: var(--text); }
    @media (max-width: 760px) { :host { display: none; } }
  `;

  override render() {
    return html`<span class="branches">${words.columns.branches}</span>
      <span class="level">${words.columns.level}</span>
      <span class="peak">${words.columns.peak}</span>
      <span class="life">${words.columns.life}</span>
      <span class="ages"><span class="age now" data-age="0">${words.now}</span>
      ${AXIS_MARKS_S.map((age) => html`<span class="age" data-age=${age}>${ageWords(age).replace(" 00", "")}</span>`)}</span>`;
  }

  override firstUpdated() {
    for (const mark of this.renderRoot.querySelectorAll<HTMLElement>(".age")) {
      mark.style.left = `${axisPosition(Number(mark.dataset["age"])) * 100}%`;
    }
  }
}
