import { html, LitElement, nothing, type PropertyValues, type TemplateResult } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { classMap } from "lit/directives/class-map.js";
import { ifDefined } from "lit/directives/if-defined.js";
import type { Capability, Command, Place } from "../protocol/model";
import { type ControlLook, controlLook } from "../pure/control_look";
import { dangerOf } from "../pure/danger";
import { displayUnit, shownNumber, typedNumber } from "../pure/display_unit";
import { stepped } from "../pure/step";
import { valueProblem } from "../pure/value_problem";
import { words } from "../words/english";
import { fieldWords } from "../words/field_words";
import { problemWords, valueWords } from "../words/value_words";
import { controlStyles } from "./control_styles";
import "./hold";

type Value = boolean | number | string;

/** More choices than this are a list, fewer stand side by side. */
const CHOICES_SIDE_BY_SIDE = 6;

/** Somebody asks for a value; the control itself changes nothing. */
export type SetEvent = CustomEvent<{ readonly field: string; readonly value: Value }>;

/**
 * One setting, made from its capability alone, whatever it is.
 *
 * Shows what the device reported, what was asked and what became of that. Events: `redpoll-set`, `redpoll-cancel`,
 * `redpoll-close-unknown`, `redpoll-dismiss`.
 */
@customElement("redpoll-control")
export class RedpollControl extends LitElement {
  static override styles = controlStyles;

  @property({ attribute: false }) capability: Capability | null = null;
  @property() place: Place = "device";
  /** What the device reported; null where it reported nothing. */
  @property({ attribute: false }) value: Value | null = null;
  /** The latest command on this setting. */
  @property({ attribute: false }) command: Command | null = null;
  /** Whether somebody has seen what the command said. */
  @property({ type: Boolean }) dismissed = false;
  /** What the console answered when it would not even take the request. */
  @property() problem = "";
  /** Who is changed, for acts that need it said: `10 Chorus 3`. */
  @property() target = "";
  /** Why nothing may be set, or empty. */
  @property() locked = "";

  @state() private draft: Value | null = null;
  @state() private typed: string | null = null;

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has("value") && this.draft !== null && this.draft === this.value) this.forget();
  }

  override render() {
    const capability = this.capability;
    if (capability === null) return nothing;
    const look = controlLook(capability.field, this.command, this.dismissed);
    const classes = { control: true, [look.look]: true };
    return html`<div class=${classMap(classes)} role="group" aria-labelledby="label">
      <span class="label" id="label">${fieldWords(this.place, capability)}</span>
      <span class="editor">${this.renderEditor(capability, look)}${this.renderCommit(capability)}</span>
      ${this.renderNote(capability, look)}
    </div>`;
  }

  /** A list shows what the device reported, not what was just picked from it; lit doesn't see that it was. */
  override updated() {
    const select = this.renderRoot.querySelector("select");
    const shown = this.draft ?? this.value;
    if (select !== null && shown !== null) select.selectedIndex = this.capability?.schema.enum.indexOf(shown) ?? -1;
  }

  private get disabled(): boolean {
    return this.locked !== "" || this.capability?.writable === false;
  }

  private renderEditor(capability: Capability, look: ControlLook): TemplateResult {
    if (capability.schema.enum.length > 0) return this.renderChoices(capability, look);
    switch (capability.schema.type) {
      case "boolean":
        return this.renderSwitch(capability, look);
      case "string":
        return this.renderText(capability, look);
      case "integer":
      case "number":
        return this.renderNumber(capability, look);
    }
  }

  private renderChoices(capability: Capability, look: ControlLook): TemplateResult {
    const choices = capability.schema.enum;
    const chosen = this.draft ?? this.value;
    if (choices.length > CHOICES_SIDE_BY_SIDE) {
      const pick = (event: Event) => this.choose(choices[(event.target as HTMLSelectElement).selectedIndex] ?? "");
      return html`<select class=${askedClass(look.asked !== null)} aria-labelledby="label" ?disabled=${this.disabled} @change=${pick}>
        ${choices.map((one) => html`<option .selected=${one === chosen}>${valueWords(one, capability)}</option>`)}
      </select>`;
    }
    return html`<span class="choices">${choices.map(
      (one) => html`<button class=${askedClass(one === (this.draft ?? look.asked))} aria-pressed=${one === this.value}
        ?disabled=${this.disabled} @click=${() => this.choose(one)}>${valueWords(one, capability)}</button>`,
    )}</span>`;
  }

  private renderSwitch(capability: Capability, look: ControlLook): TemplateResult {
    const on = this.value === true;
    const asked = this.draft ?? look.asked;
    const classes = { switch: true, unreported: this.value === null, asked: asked !== null };
    return html`<button class=${classMap(classes)} role="switch" aria-checked=${on} aria-labelledby="label"
      ?disabled=${this.disabled} @click=${() => this.choose(this.draft === null ? !on : on)}>
      <span class="rail"><i class="knob"></i></span>
      ${this.value === null ? words.control.notHeard : valueWords(on, capability)}
    </button>`;
  }

  private renderText(capability: Capability, look: ControlLook): TemplateResult {
    return html`<input class="text ${askedClass(look.asked !== null)}" aria-labelledby="label" ?disabled=${this.disabled}
      maxlength=${capability.schema.maximum_length} .value=${this.typed ?? `${this.value ?? ""}`}
      @input=${this.type} @keydown=${this.onKey} />`;
  }

  private renderNumber(capability: Capability, look: ControlLook): TemplateResult {
    const shown = this.typed ?? (typeof this.value === "number" ? shownNumber(this.value, capability) : "");
    const { unit } = displayUnit(capability);
    const stepper = capability.schema.multiple_of !== null || capability.schema.type === "integer";
    const button = (direction: 1 | -1, sign: string, label: string) =>
      stepper
        ? html`<button aria-label="${fieldWords(this.place, capability)}, ${label}" ?disabled=${this.disabled}
            @click=${() => this.step(direction)}>${sign}</button>`
        : nothing;
    return html`<span class="stepper ${askedClass(look.asked !== null)}">
        ${button(-1, "\u2212", words.control.less)}
        <input inputmode="decimal" aria-labelledby="label" aria-invalid=${ifDefined(this.draftProblem() === "" ? undefined : "true")}
          ?disabled=${this.disabled} .value=${shown} @input=${this.type} @keydown=${this.onKey} />
        ${button(1, "+", words.control.more)}
      </span><span class="unit">${unit}</span>`;
  }

  private renderCommit(capability: Capability) {
    if (this.draft === null || this.draftProblem() !== "") return nothing;
    const danger = dangerOf(capability, this.draft);
    if (danger === "none") return html`<button @click=${this.commit}>${words.control.set}</button>`;
    const harm = words.control.dangers[danger](Math.ceil(capability.confirm_within_ms / 1000));
    const label = words.control.holdFor(this.target, valueWords(this.draft, capability), harm);
    return html`<redpoll-hold .label=${label} @redpoll-held=${this.commit}></redpoll-hold>`;
  }

  private renderNote(capability: Capability, look: ControlLook) {
    const problem = this.draftProblem() || this.problem;
    if (problem !== "") return html`<span class="note problem" role="alert">${problem}</span>`;
    if (look.look === "resting") return this.renderRestingNote(capability);
    const asked = look.asked === null ? "" : words.control.asked(valueWords(look.asked, capability));
    const state = this.command?.state ?? "unknown";
    return html`<span class="note" role="status"><strong>${words.commandStates[state]}</strong>
      <span>${[asked, look.reason].filter((part) => part !== "").join(": ")}</span> ${this.renderNoteActs(look)}</span>`;
  }

  private renderRestingNote(capability: Capability) {
    const notes = [
      this.locked,
      capability.writable ? "" : words.control.readOnly,
      capability.needs_hand ? words.control.needsHand : "",
      this.value === null && this.locked === "" ? words.control.notHeard : "",
    ].filter((note) => note !== "");
    return notes.length === 0 ? nothing : html`<span class="note">${notes.join(" · ")}</span>`;
  }

  private renderNoteActs(look: ControlLook) {
    const act = (name: string, label: string) => html`<button @click=${() => this.tell(name, {})}>${label}</button>`;
    if (look.look === "requested") return act("redpoll-cancel", words.control.cancel);
    if (look.look === "unknown") return act("redpoll-close-unknown", words.control.closeUnknown);
    return look.look === "refused" ? act("redpoll-dismiss", words.control.dismiss) : nothing;
  }

  private draftProblem(): string {
    if (this.draft === null || this.capability === null) return "";
    const problem = valueProblem(this.draft, this.capability.schema);
    return problem === null ? "" : problemWords(problem, this.capability);
  }

  private choose(value: Value): void {
    if (this.capability === null) return;
    if (value === this.value) {
      this.forget();
      return;
    }
    this.draft = value;
    if (dangerOf(this.capability, value) === "none") this.commit();
  }

  private type(event: Event): void {
    const text = (event.target as HTMLInputElement).value;
    if (this.capability === null) return;
    this.typed = text;
    const value = this.capability.schema.type === "string" ? text : typedNumber(text, this.capability);
    this.draft = value === this.value ? null : value;
  }

  private step(direction: 1 | -1): void {
    if (this.capability === null) return;
    const { minimum, maximum, multiple_of } = this.capability.schema;
    const from = typeof this.draft === "number" && Number.isFinite(this.draft) ? this.draft : this.value;
    const value = stepped(typeof from === "number" ? from : (minimum ?? 0), direction, {
      minimum,
      maximum,
      step: multiple_of,
    });
    this.typed = shownNumber(value, this.capability);
    this.draft = value === this.value ? null : value;
  }

  private onKey(event: KeyboardEvent): void {
    if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      if (this.capability?.schema.type === "string") return;
      event.preventDefault();
      this.step(event.key === "ArrowUp" ? 1 : -1);
    } else if (event.key === "Escape" && this.draft !== null) {
      event.stopPropagation();
      this.forget();
    } else if (event.key === "Enter" && this.draft !== null && this.capability !== null) {
      if (dangerOf(this.capability, this.draft) === "none" && this.draftProblem() === "") this.commit();
    }
  }

  private commit(): void {
    if (this.draft === null || this.capability === null) return;
    this.tell("redpoll-set", { field: this.capability.field, value: this.draft });
    this.forget();
  }

  private forget(): void {
    this.draft = null;
    this.typed = null;
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

function askedClass(asked: boolean): string {
  return asked ? "asked" : "";
}
