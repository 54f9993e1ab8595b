import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { classMap } from "lit/directives/class-map.js";
import type { Capability, Command, Place } from "../protocol/model";
import { type ControlLook, controlLook } from "../pure/control_look";
import { dangerOf } from "../pure/danger";
import { valueProblem } from "../pure/value_problem";
import { cautionOf } from "../words/caution_words";
import { words } from "../words/english";
import { fieldWords } from "../words/field_words";
import { problemWords, valueWords } from "../words/value_words";
import { controlStyles } from "./control_styles";
import type { DraftEvent, RedpollEditor } from "./editor";
import "./editor";
import "./hold";

type Value = boolean | number | string;

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
  /** Whether what locks it is said elsewhere already, for all of them. */
  @property({ type: Boolean }) quiet = false;

  @state() private draft: Value | null = null;
  @query("redpoll-editor") private readonly editor?: RedpollEditor;

  override willUpdate(changed: PropertyValues<this>) {
    if (changed.has("value") && this.draft !== null && this.draft === this.value) this.forget();
  }

  override render() {
    const capability = this.capability;
    if (capability === null) return nothing;
    const look = controlLook(capability.field, this.command, this.dismissed);
    const classes = { control: true, [look.look]: true };
    const label = fieldWords(this.place, capability);
    return html`<div class=${classMap(classes)} role="group" aria-labelledby="label">
      <span class="label" id="label">${label}</span>
      <span class="editor"><redpoll-editor .shape=${capability} .label=${label} .value=${this.value} .asked=${look.asked}
        ?disabled=${this.locked !== "" || !capability.writable} ?invalid=${this.draftProblem() !== ""}
        @redpoll-draft=${this.onDraft} @redpoll-enter=${this.onEnter}
        @redpoll-drop=${this.forget}></redpoll-editor>${this.renderCommit(capability)}</span>
      ${this.renderNote(capability, look)}
    </div>`;
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
    if (this.draft !== null) return this.renderCaution(capability, this.draft);
    if (look.look === "resting") return this.renderRestingNote(capability);
    const asked = look.asked === null ? "" : words.control.asked(valueWords(look.asked, capability));
    const state = look.look === "confirmed" ? "confirmed" : (this.command?.state ?? "unknown");
    return html`<span class="note" role="status"><strong>${words.commandStates[state]}</strong>
      <span>${[asked, look.reason].filter((part) => part !== "").join(": ")}</span> ${this.renderNoteActs(look)}</span>`;
  }

  /** What somebody should have thought of, said where it bites: beside the hold. */
  private renderCaution(capability: Capability, draft: Value) {
    const caution = cautionOf(this.place, capability, draft);
    return caution === "" ? this.renderRestingNote(capability) : html`<span class="note caution">${caution}</span>`;
  }

  private renderRestingNote(capability: Capability) {
    const notes = [
      this.quiet ? "" : this.locked,
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

  private onDraft(event: DraftEvent): void {
    this.draft = event.detail.value;
    if (event.detail.picked && this.isHarmless()) this.commit();
  }

  private onEnter(): void {
    if (this.isHarmless() && this.draftProblem() === "") this.commit();
  }

  private isHarmless(): boolean {
    return this.capability !== null && this.draft !== null && dangerOf(this.capability, this.draft) === "none";
  }

  private commit(): void {
    if (this.draft === null || this.capability === null) return;
    this.tell("redpoll-set", { field: this.capability.field, value: this.draft });
    this.forget();
  }

  private forget(): void {
    this.draft = null;
    this.editor?.forget();
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}
