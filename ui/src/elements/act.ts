import { html, LitElement, nothing, type TemplateResult } from "lit";
import { customElement, property, queryAll, state } from "lit/decorators.js";
import type { ActCapability, Argument, Command } from "../protocol/model";
import { defaultArgument } from "../pure/act_argument";
import { dangerOfAct } from "../pure/act_danger";
import { actPhase } from "../pure/act_look";
import type { Span, Stretch } from "../pure/spectrum";
import { valueProblem } from "../pure/value_problem";
import { actStateOf, actStateWords, actWords, argumentWords, harmWords, resultWords } from "../words/act_words";
import { cautionOfAct } from "../words/caution_words";
import { words } from "../words/english";
import { problemWords } from "../words/value_words";
import { actStyles } from "./act_styles";
import type { DraftEvent, RedpollEditor } from "./editor";
import "./editor";
import "./hold";
import "./levels";

type Value = boolean | number | string;

/** How far an act is, as its device tells. */
export interface ActProgress {
  readonly fraction: number | null;
  readonly words: string;
}

/** Somebody asks for an act with its arguments; secret ones among them are kept nowhere. */
export type DoEvent = CustomEvent<{ readonly act: string; readonly values: Readonly<Record<string, Value>> }>;

/**
 * Something that can be done, made from its capability alone: its arguments, what it does to the sound, how far it is.
 *
 * Events: `redpoll-do`, `redpoll-cancel`, `redpoll-close-unknown`, `redpoll-dismiss`.
 */
@customElement("redpoll-act")
export class RedpollAct extends LitElement {
  static override styles = actStyles;

  @property({ attribute: false }) capability: ActCapability | null = null;
  /** On whom it is done: `sink-wide-1, carrier 1`. */
  @property() target = "";
  /** The latest command that is this act on this thing. */
  @property({ attribute: false }) command: Command | null = null;
  @property({ attribute: false }) progress: ActProgress | null = null;
  @property({ type: Boolean }) dismissed = false;
  @property() problem = "";
  /** Why it can't be done, or empty. */
  @property() locked = "";
  /** Whether its caution is said by an act above it. */
  @property({ type: Boolean }) quiet = false;
  @property({ attribute: false }) stretches: readonly Stretch[] = [];

  @state() private values: Readonly<Record<string, Value>> = {};
  @queryAll("redpoll-editor") private readonly editors!: NodeListOf<RedpollEditor>;

  override render() {
    const act = this.capability;
    if (act === null) return nothing;
    const phase = actPhase(this.command, this.dismissed);
    const name = actWords(act);
    return html`<section class=${phase.replace(" ", "-")} aria-labelledby="name">
      <h3 id="name">${name}</h3>
      ${phase === "running" ? nothing : this.renderArguments(act)}
      ${phase === "running" ? nothing : this.renderDo(act, name)}
      ${this.renderNote(act, phase)}
      ${this.renderLevels(act)}
    </section>`;
  }

  private renderArguments(act: ActCapability) {
    if (act.arguments.length === 0) return nothing;
    return html`<div class="arguments">${act.arguments.map((one) => this.renderArgument(one))}</div>`;
  }

  private renderArgument(one: Argument): TemplateResult {
    const label = argumentWords(one);
    const shape = { field: one.name, unit: one.unit, schema: one.schema };
    // What is typed stays the editor's own while it is typed; what is picked is shown as picked.
    const picked = one.schema.type === "boolean" || one.schema.enum.length > 0;
    const value = picked ? (this.valueOfArgument(one) ?? null) : defaultArgument(one);
    return html`<span class="label">${label}</span>
      <redpoll-editor data-argument=${one.name} .shape=${shape} .label=${label} .value=${value}
        ?secret=${one.secret} ?disabled=${this.locked !== ""}
        @redpoll-draft=${(event: DraftEvent) => this.take(one.name, event.detail.value)}
        @redpoll-drop=${() => this.take(one.name, null)}></redpoll-editor>
      ${one.secret ? html`<span class="soft wide">${actStateWords.secret}</span>` : nothing}`;
  }

  private renderDo(act: ActCapability, name: string) {
    if (this.locked !== "") return html`<p class="soft">${this.locked}</p>`;
    const problem = this.argumentProblem(act);
    const caution = cautionOfAct(act);
    const danger = dangerOfAct(act);
    const button =
      danger === "none"
        ? html`<button ?disabled=${problem !== ""} @click=${this.perform}>${name}</button>`
        : html`<redpoll-hold .label=${actStateWords.hold(name, this.target, harmWords(act, danger))}
            @redpoll-held=${this.perform}></redpoll-hold>`;
    return html`${caution === "" || this.quiet ? nothing : html`<p class="caution">${caution}</p>`}
      <div class="do">${problem !== "" && danger !== "none" ? nothing : button}
        ${problem === "" ? nothing : html`<span class="soft">${problem}</span>`}</div>`;
  }

  private renderNote(act: ActCapability, phase: ReturnType<typeof actPhase>) {
    if (this.problem !== "") return html`<p class="problem" role="alert">${this.problem}</p>`;
    const { command } = this;
    if (phase === "resting" || command === null) return this.renderResting(act);
    return html`<div class="note" role="status">
      <strong>${actStateOf(command, (state) => words.commandStates[state])}</strong>
      ${this.renderProgress(command)}
      <span>${[waitingWords(command), command.reason, ...resultWords(command.result)].filter(Boolean).join(" · ")}</span>
      ${this.renderEnd(act, phase)}
    </div>`;
  }

  private renderResting(act: ActCapability) {
    const notes = [
      act.needs_hand ? actStateWords.needsHand : "",
      act.needs_awake ? actStateWords.needsAwake : "",
    ].filter(Boolean);
    return notes.length === 0 ? nothing : html`<p class="soft">${notes.join(" · ")}</p>`;
  }

  private renderProgress(command: Command) {
    const fraction = this.progress?.fraction ?? command.progress;
    if (fraction === null || actPhase(command, false) !== "running") return nothing;
    const percent = `${Math.round(fraction * 100)}`;
    return html`<progress max="1" value=${fraction} aria-label=${actStateWords.progress(percent)}></progress>
      <span>${actStateWords.progress(percent)} ${this.progress?.words ?? ""}</span>`;
  }

  private renderEnd(act: ActCapability, phase: ReturnType<typeof actPhase>) {
    const end = (name: string, label: string) => html`<button @click=${() => this.tell(name, {})}>${label}</button>`;
    if (phase === "running") {
      const waits = this.command?.state.startsWith("waiting") === true || this.command?.state === "requested";
      return act.cancellable || waits ? end("redpoll-cancel", actStateWords.cancel) : nothing;
    }
    if (phase === "unknown") return end("redpoll-close-unknown", actStateWords.close);
    return end("redpoll-dismiss", actStateWords.seen);
  }

  private renderLevels(act: ActCapability) {
    if (act.act !== "scan" || (this.command === null && this.stretches.length === 0)) return nothing;
    return html`<redpoll-levels .stretches=${this.stretches} .span=${askedSpan(this.command)}></redpoll-levels>`;
  }

  private argumentProblem(act: ActCapability): string {
    for (const one of act.arguments) {
      const value = this.valueOfArgument(one);
      if (value === undefined || value === "") {
        if (one.required) return actStateWords.missing(argumentWords(one));
        continue;
      }
      const problem = valueProblem(value, one.schema);
      const shape = { field: one.name, unit: one.unit, schema: one.schema };
      if (problem !== null) return `${argumentWords(one)}: ${problemWords(problem, shape)}`;
    }
    return "";
  }

  private take(name: string, value: Value | null): void {
    const { [name]: _, ...others } = this.values;
    this.values = value === null ? others : { ...others, [name]: value };
  }

  /** Asks for it, and forgets what was typed: a key stays nowhere. */
  private perform(): void {
    const act = this.capability;
    if (act === null || this.argumentProblem(act) !== "") return;
    const given = act.arguments.flatMap((one) => {
      const value = this.valueOfArgument(one);
      return value === undefined || value === "" ? [] : [[one.name, value] as const];
    });
    this.tell("redpoll-do", { act: act.act, values: Object.fromEntries(given) });
    // The fields are drawn anew once it is over: what they show then is what the next one would send.
    this.values = {};
    for (const editor of this.editors) editor.forget();
  }

  private valueOfArgument(one: Argument): Value | undefined {
    return this.values[one.name] ?? defaultArgument(one) ?? undefined;
  }

  private tell(name: string, detail: object): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

function waitingWords(command: Command): string {
  if (command.state === "waiting for a hand") {
    return command.act === "link" ? actStateWords.hand.link : actStateWords.hand.any;
  }
  return command.state === "waiting for wake" ? actStateWords.wake : "";
}

function askedSpan(command: Command | null): Span | null {
  const [from, to] = [command?.changes["start_hz"], command?.changes["stop_hz"]];
  return typeof from === "number" && typeof to === "number" && to > from ? { fromHz: from, toHz: to } : null;
}
