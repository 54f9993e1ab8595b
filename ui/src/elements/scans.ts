import { css, html, LitElement, nothing } from "lit";
import { customElement, property } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import { scoutWords } from "../words/scout_words";

/** One kept scan in the list. */
export interface ScanLine {
  readonly scanId: string;
  readonly place: string;
  readonly clock: string;
  readonly age: string;
  readonly with: string;
  readonly simulated: string;
}

const { scans } = scoutWords;

/** The kept scans, the latest first: where, when, how old, with what. Events: `redpoll-scan-look`, `redpoll-scan-hold`. */
@customElement("redpoll-scans")
export class RedpollScans extends LitElement {
  static override styles = css`
    :host { display: block; }
    ul { margin: 0; padding: 0; list-style: none; }
    li { display: grid; grid-template-columns: minmax(0, 1fr) auto; border-bottom: 1px solid var(--rule); }
    li.shown { background: var(--select); box-shadow: inset 4px 0 0 var(--text); }
    li.held { box-shadow: inset 0 0 0 1px var(--edge); }
    button { font: inherit; color: var(--text-soft); background: none; border: 0; padding: 6px 10px; min-height: 44px; text-align: left; cursor: pointer; }
    .look { padding-left: 14px; min-width: 0; }
    .place { display: flex; gap: 8px; align-items: baseline; color: var(--text); font-weight: 650; font-size: 16px; }
    .age { margin-left: auto; white-space: nowrap; }
    .how { display: flex; flex-wrap: wrap; gap: 2px 8px; overflow-wrap: anywhere; }
    .simulated { border: 1px dashed var(--text); color: var(--text); padding: 0 6px; font-weight: 400; font-size: 15px; }
    .hold { white-space: nowrap; text-decoration: underline; text-underline-offset: 3px; }
    .hold[aria-pressed="true"] { color: var(--text); text-decoration: none; font-weight: 600; }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
  `;

  @property({ attribute: false }) lines: readonly ScanLine[] = [];
  @property() shown = "";
  @property() held = "";

  override render() {
    return html`<ul>${repeat(
      this.lines,
      (line) => line.scanId,
      (line) => this.renderLine(line),
    )}</ul>`;
  }

  private renderLine(line: ScanLine) {
    const [shown, held] = [line.scanId === this.shown, line.scanId === this.held];
    return html`<li class=${shown ? "shown" : held ? "held" : ""} data-scan=${line.scanId}>
      <button class="look" aria-pressed=${shown} @click=${() => this.tell("redpoll-scan-look", line)}>
        <span class="place"><span>${line.place}</span><span class="age">${line.age}</span></span>
        <span class="how"><span>${line.clock}</span>${line.simulated === "" ? nothing : html`<span class="simulated">${line.simulated}</span>`}<span>${line.with}</span></span>
      </button>
      ${
        shown
          ? nothing
          : html`<button class="hold" aria-pressed=${held} aria-label=${scans.holdLabel(held ? scans.held : scans.hold, line.place, line.age)}
            @click=${() => this.tell("redpoll-scan-hold", line)}>${held ? scans.held : scans.hold}</button>`
      }
    </li>`;
  }

  private tell(name: string, { scanId }: ScanLine): void {
    this.dispatchEvent(new CustomEvent(name, { detail: { scanId }, bubbles: true, composed: true }));
  }
}
