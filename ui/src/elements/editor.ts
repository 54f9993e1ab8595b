import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { classMap } from "lit/directives/class-map.js";
import { ifDefined } from "lit/directives/if-defined.js";
import { displayUnit, shownNumber, typedNumber } from "../pure/display_unit";
import { stepped } from "../pure/step";
import { words } from "../words/english";
import { type Shape, valueWords } from "../words/value_words";
import { editorStyles } from "./editor_styles";

type Value = boolean | number | string;

/** More choices than this are a list, fewer stand side by side. */
const CHOICES_SIDE_BY_SIDE = 6;
const WIDE_FROM = 1e8;

/** What somebody has in mind: null once it is what stands there already. `picked` says it was chosen by one click. */
export type DraftEvent = CustomEvent<{ readonly value: Value | null; readonly picked: boolean }>;

/**
 * A value made editable by its schema alone: a switch, choices, a number with steps, a text.
 *
 * Events: `redpoll-draft` as the draft changes, `redpoll-enter` on Enter, `redpoll-drop` on Escape.
 */
@customElement("redpoll-editor")
export class RedpollEditor extends LitElement {
  static override styles = editorStyles;

  /** What is edited: its name, unit and schema. */
  @property({ attribute: false }) shape: Shape | null = null;
  /** What it is called, for those who don't see it. */
  @property() label = "";
  /** What stands there now; null where nothing was reported. */
  @property({ attribute: false }) value: Value | null = null;
  /** What was asked for and isn't settled. */
  @property({ attribute: false }) asked: Value | null = null;
  @property({ type: Boolean }) disabled = false;
  /** Whether what is typed is never shown. */
  @property({ type: Boolean }) secret = false;
  @property({ type: Boolean }) invalid = false;

  @state() private draft: Value | null = null;
  @state() private typed: string | null = null;

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has("value") && this.draft !== null && this.draft === this.value) this.forget();
  }

  override render() {
    const shape = this.shape;
    if (shape === null) return nothing;
    if (shape.schema.enum.length > 0) return this.renderChoices(shape);
    switch (shape.schema.type) {
      case "boolean":
        return this.renderSwitch(shape);
      case "string":
        return this.renderText(shape);
      case "integer":
      case "number":
        return this.renderNumber(shape);
    }
  }

  /** A list shows what was reported, not what was just picked from it; lit doesn't see that it was. */
  override updated() {
    const select = this.renderRoot.querySelector("select");
    const shown = this.draft ?? this.value;
    if (select !== null && shown !== null) select.selectedIndex = this.shape?.schema.enum.indexOf(shown) ?? -1;
  }

  /** Forgets what somebody had in mind. */
  forget(): void {
    this.draft = null;
    this.typed = null;
  }

  private renderChoices(shape: Shape): TemplateResult {
    const choices = shape.schema.enum;
    const chosen = this.draft ?? this.value;
    if (choices.length > CHOICES_SIDE_BY_SIDE) {
      const pick = (event: Event) => this.choose(choices[(event.target as HTMLSelectElement).selectedIndex] ?? "");
      return html`<select class=${askedClass(this.asked !== null)} aria-label=${this.label} ?disabled=${this.disabled} @change=${pick}>
        ${choices.map((one) => html`<option .selected=${one === chosen}>${valueWords(one, shape)}</option>`)}
      </select>`;
    }
    return html`<span class="choices" role="group" aria-label=${this.label}>${choices.map(
      (one) => html`<button class=${askedClass(one === (this.draft ?? this.asked))} aria-pressed=${one === this.value}
        ?disabled=${this.disabled} @click=${() => this.choose(one)}>${valueWords(one, shape)}</button>`,
    )}</span>`;
  }

  private renderSwitch(shape: Shape): TemplateResult {
    const on = this.value === true;
    const asked = this.draft ?? this.asked;
    const classes = { switch: true, unreported: this.value === null, asked: asked !== null };
    return html`<button class=${classMap(classes)} role="switch" aria-checked=${on} aria-label=${this.label}
      ?disabled=${this.disabled} @click=${() => this.choose(this.draft === null ? !on : on)}>
      <span class="rail"><i class="knob"></i></span>
      ${this.value === null ? words.control.notHeard : valueWords(on, shape)}
    </button>`;
  }

  private renderText(shape: Shape): TemplateResult {
    return html`<input class="text ${askedClass(this.asked !== null)}" aria-label=${this.label} ?disabled=${this.disabled}
      type=${this.secret ? "password" : "text"} autocomplete="off" spellcheck="false"
      maxlength=${shape.schema.maximum_length} .value=${this.typed ?? `${this.value ?? ""}`}
      @input=${this.type} @keydown=${this.onKey} />`;
  }

  private renderNumber(shape: Shape): TemplateResult {
    const shown = this.typed ?? (typeof this.value === "number" ? shownNumber(this.value, shape) : "");
    const { unit } = displayUnit(shape);
    const stepper = shape.schema.multiple_of !== null || shape.schema.type === "integer";
    const button = (direction: 1 | -1, sign: string, label: string) =>
      stepper
        ? html`<button aria-label="${this.label}, ${label}" ?disabled=${this.disabled}
            @click=${() => this.step(direction)}>${sign}</button>`
        : nothing;
    return html`<span class="stepper ${askedClass(this.asked !== null)}">
        ${button(-1, "\u2212", words.control.less)}
        <input class=${(shape.schema.maximum ?? 0) >= WIDE_FROM ? "wide" : ""} inputmode="decimal" aria-label=${this.label}
          aria-invalid=${ifDefined(this.invalid ? "true" : undefined)} type=${this.secret ? "password" : "text"}
          autocomplete="off" ?disabled=${this.disabled} .value=${shown} @input=${this.type} @keydown=${this.onKey} />
        ${button(1, "+", words.control.more)}
      </span>${unit === "" ? nothing : html`<span class="unit">${unit}</span>`}`;
  }

  private choose(value: Value): void {
    this.draft = value === this.value ? null : value;
    this.tell(true);
  }

  private type(event: Event): void {
    if (this.shape === null) return;
    const text = (event.target as HTMLInputElement).value;
    this.typed = text;
    const value = this.shape.schema.type === "string" ? text : typedNumber(text, this.shape);
    this.draft = value === this.value ? null : value;
    this.tell(false);
  }

  private step(direction: 1 | -1): void {
    if (this.shape === null) return;
    const { minimum, maximum, multiple_of } = this.shape.schema;
    const from = typeof this.draft === "number" && Number.isFinite(this.draft) ? this.draft : this.value;
    const steps = { minimum, maximum, step: multiple_of };
    const value = stepped(typeof from === "number" ? from : (minimum ?? 0), direction, steps);
    this.typed = shownNumber(value, this.shape);
    this.draft = value === this.value ? null : value;
    this.tell(false);
  }

  private onKey(event: KeyboardEvent): void {
    if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      if (this.shape?.schema.type === "string") return;
      event.preventDefault();
      this.step(event.key === "ArrowUp" ? 1 : -1);
    } else if (event.key === "Escape" && this.draft !== null) {
      event.stopPropagation();
      this.forget();
      this.dispatchEvent(new CustomEvent("redpoll-drop"));
    } else if (event.key === "Enter" && this.draft !== null) {
      this.dispatchEvent(new CustomEvent("redpoll-enter"));
    }
  }

  private tell(picked: boolean): void {
    this.dispatchEvent(new CustomEvent("redpoll-draft", { detail: { value: this.draft, picked } }));
  }
}

function askedClass(asked: boolean): string {
  return asked ? "asked" : "";
}
