import { html, LitElement, nothing } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { ifDefined } from "lit/directives/if-defined.js";
import { repeat } from "lit/directives/repeat.js";
import type { Lease, Unlocked } from "../protocol/model";
import { sheetWords } from "../words/sheet_words";
import type { PartFacts } from "./part";
import { sheetStyles } from "./sheet_styles";
import "./guard";
import "./lease";
import "./part";

/** One line of the list of parts. */
export interface PartLine {
  readonly address: string;
  readonly title: string;
  readonly depth: number;
}

/** A device as its sheet shows it. */
export interface SheetFacts {
  readonly deviceId: string;
  readonly name: string;
  /** What it is in words: `receiver · rack · sink-wide-1`. */
  readonly what: string;
  readonly contact: string;
  readonly because: string;
  /** Whether the device reports; all else is the last that was known. */
  readonly reports: boolean;
  readonly simulated: boolean;
  readonly readOnly: boolean;
  readonly through: string;
  readonly lease: Lease | null;
  /** Whether anything of it is guarded. */
  readonly guarded: boolean;
  readonly unlocked: Unlocked | null;
  readonly unlockedS: number;
  readonly engineer: boolean;
  readonly permitProblem: string;
  readonly parts: readonly PartLine[];
  /** The part that is looked at; null where the device hasn't described itself. */
  readonly part: PartFacts | null;
}

/**
 * Everything of one device: what it is, its parts, and one of them whole.
 *
 * Events: those of its part; `redpoll-part-open`, `redpoll-retry`, `redpoll-unlock`, `redpoll-lock`,
 * `redpoll-take-lease`, `redpoll-sheet-close`.
 */
@customElement("redpoll-sheet")
export class RedpollSheet extends LitElement {
  static override styles = sheetStyles;

  @property({ attribute: false }) facts: SheetFacts | null = null;
  @state() private units = true;

  override render() {
    const facts = this.facts;
    if (facts === null) return nothing;
    return html`<section class="sheet" aria-label=${sheetWords.label(facts.name)}>
      ${this.renderHead(facts)}
      <div class="body">
        ${this.renderParts(facts)}
        <div class="part">
          ${this.renderPermits(facts)}
          ${
            facts.part === null
              ? html`<p>${sheetWords.notDescribed}</p>`
              : html`<redpoll-part .facts=${facts.part} .units=${this.units}></redpoll-part>`
          }
        </div>
      </div>
    </section>`;
  }

  /** Puts the focus on the part that is looked at. */
  focusPart(): void {
    this.renderRoot.querySelector<HTMLElement>('[aria-current="true"]')?.focus();
  }

  /** Shows units, or spares them. */
  changeUnits(): void {
    this.units = !this.units;
  }

  /** The address of the part so many further down the list. */
  near(by: number): string | null {
    const parts = this.facts?.parts ?? [];
    const at = parts.findIndex((part) => part.address === this.facts?.part?.address);
    return parts[Math.min(Math.max(at + by, 0), parts.length - 1)]?.address ?? null;
  }

  private renderHead(facts: SheetFacts) {
    return html`<header>
      <h1>${facts.name}</h1>
      <span class="what">${facts.what}</span>
      ${facts.simulated ? html`<span class="badge">${sheetWords.simulated}</span>` : nothing}
      ${facts.readOnly ? html`<span class="badge plain">${sheetWords.readOnly}</span>` : nothing}
      <span class="contact ${facts.reports ? "" : "lost"}">${facts.contact}${facts.because === "" ? "" : `: ${facts.because}`}</span>
      ${facts.through === "" ? nothing : html`<span class="what">${sheetWords.through(facts.through)}</span>`}
      ${facts.reports ? nothing : html`<button @click=${() => this.tell("redpoll-retry", {})}>${sheetWords.retry}</button>`}
      <span class="end">
        <button aria-pressed=${this.units} @click=${this.changeUnits}>${sheetWords.units}</button>
        <button @click=${() => this.tell("redpoll-sheet-close", {})}>${sheetWords.close}</button>
      </span>
    </header>`;
  }

  private renderParts(facts: SheetFacts) {
    const open = (address: string) => this.tell("redpoll-part-open", { address });
    return html`<nav aria-label=${sheetWords.parts}><ul>${repeat(
      facts.parts,
      (part) => part.address,
      (part) => html`<li class="depth${part.depth}"><button data-part=${part.address}
        aria-current=${ifDefined(part.address === facts.part?.address ? "true" : undefined)}
        @click=${() => open(part.address)}>${part.title}</button></li>`,
    )}</ul></nav>`;
  }

  private renderPermits(facts: SheetFacts) {
    return html`${
      facts.lease === null
        ? nothing
        : html`<redpoll-lease .lease=${facts.lease} .target=${facts.name} .allowed=${facts.engineer}
            .problem=${facts.lease.ours ? "" : facts.permitProblem}></redpoll-lease>`
    }
    ${
      facts.guarded
        ? html`<redpoll-guard .target=${facts.name} .unlocked=${facts.unlocked} .leftS=${facts.unlockedS}
            .allowed=${facts.engineer} .problem=${facts.permitProblem}></redpoll-guard>`
        : nothing
    }`;
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}
