import { css, html, LitElement, nothing, type TemplateResult } from "lit";
import { customElement, property } from "lit/decorators.js";
import { isolationBetween, withIsolation } from "../pure/plan_isolation";
import {
  AIMS,
  DIGITAL_PROFILE,
  EMPTY_REQUEST,
  GROUP_KINDS,
  type GroupKind,
  type PlanGroup,
  type PlanProfile,
  type PlanRequest,
  zonesOf,
} from "../pure/plan_request";
import { chartWords } from "../words/chart_words";
import { type Change, numberField, removeButton, replaced, textField, without } from "./plan_fields";
import { railStyles } from "./rail_styles";

const { ask } = chartWords;
const MHZ = 1e6;
const KHZ = 1e3;

/**
 * What a plan asks for, as a form. Every change gives a new request; nothing is kept by itself.
 *
 * Events: `redpoll-request` with the changed request, `redpoll-request-keep`, `redpoll-request-forget`.
 */
@customElement("redpoll-plan-ask")
export class RedpollPlanAsk extends LitElement {
  static override styles = [
    railStyles,
    css`
      fieldset { border: 0; margin: 0; padding: 0; min-width: 0; }
      .row { display: grid; gap: 6px; align-items: end; padding: 4px 0; }
      .row label { display: grid; gap: 1px; color: var(--text-soft); min-width: 0; white-space: nowrap; overflow: hidden; }
      .row input, .row select { width: 100%; box-sizing: border-box; }
      .window { grid-template-columns: 1fr 1fr 34px; }
      .exclusion { grid-template-columns: 1fr 1fr 1.2fr 34px; }
      .group { grid-template-columns: 4.2em 4em minmax(0, 1fr) minmax(0, 1.1fr) 34px; border-top: 1px solid var(--rule); padding: 8px 0; }
      .group .name { grid-column: span 3; }
      .group .name + .name { grid-column: span 2; }
      .profile { grid-template-columns: repeat(4, minmax(0, 1fr)); border-top: 1px solid var(--rule); padding: 8px 0; }
      .profile .name { grid-column: 1 / -1; display: grid; grid-template-columns: minmax(0, 1fr) 34px; gap: 6px; align-items: end; }
      .pair { grid-template-columns: minmax(0, 1fr) auto 6em; align-items: center; }
      .keep { position: sticky; bottom: -12px; display: flex; flex-wrap: wrap; gap: 8px; margin: 12px -16px -12px; padding: 10px 16px; background: var(--ground); border-top: 1px solid var(--rule); z-index: 1; }
      .keep .main { border: 2px solid var(--text); font-weight: 620; }
      button.remove { padding: 0; width: 34px; }
      @media (max-width: 760px), (pointer: coarse) { .window { grid-template-columns: 1fr 1fr 44px; } .exclusion { grid-template-columns: 1fr 1fr 1fr 44px; } .profile .name { grid-template-columns: minmax(0, 1fr) 44px; } .group { grid-template-columns: 4.2em 4em minmax(0, 1fr) minmax(0, 1.1fr) 44px; } button.remove { width: 44px; } .keep { bottom: 0; margin: 12px -10px 0; } }
    `,
  ];

  @property({ attribute: false }) request: PlanRequest = EMPTY_REQUEST;
  @property({ type: Boolean }) changed = false;
  /** Whether nothing can be changed now. */
  @property({ type: Boolean }) locked = false;

  override render() {
    return html`<fieldset ?disabled=${this.locked}>
      ${this.renderGroups()}${this.renderWindows()}${this.renderExclusions()}${this.renderProfiles()}${this.renderIsolation()}${this.renderAim()}
    </fieldset>
    ${this.changed && !this.locked ? this.renderKeep() : nothing}`;
  }

  private renderGroups() {
    return html`<h2>${ask.groups}</h2>${this.request.group.map((group, index) => this.renderGroup(group, index))}
      <button @click=${this.addGroup}>${ask.addGroup}</button>`;
  }

  private renderGroup(group: PlanGroup, index: number) {
    const put = (change: Partial<PlanGroup>) => this.put({ group: replaced(this.request.group, index, change) });
    const profiles = this.request.profile.map((one) => one.name);
    return html`<div class="row group">
      <span class="name">${textField(ask.name, group.name, (name) => put({ name }))}</span>
      <span class="name">${textField(ask.zone, group.zone, (zone) => put({ zone }))}</span>
      ${numberField(ask.count, group.count, 1, (count) => put({ count: Math.max(Math.round(count), 1) }))}
      ${numberField(ask.spares, group.spares, 1, (spares) => put({ spares: Math.max(Math.round(spares), 0) }))}
      ${select(ask.profile, profiles, group.profile, (profile) => put({ profile }))}
      ${select(ask.kind, GROUP_KINDS, group.kind, (kind) => put({ kind: kind as GroupKind }), chartWords.groupKinds)}
      ${removeButton(group.name, () => this.put({ group: without(this.request.group, index) }))}
    </div>`;
  }

  private renderWindows() {
    const { window } = this.request;
    return html`<h2>${ask.windows}</h2>${window.map((one, index) => {
      const put = (change: Partial<typeof one>) => this.put({ window: replaced(window, index, change) });
      return html`<div class="row window">${numberField(ask.from, one.start_hz, MHZ, (start_hz) => put({ start_hz }))}
        ${numberField(ask.to, one.stop_hz, MHZ, (stop_hz) => put({ stop_hz }))}${removeButton(ask.windows, () => this.put({ window: without(window, index) }))}</div>`;
    })}
      <div class="row window"><span><button @click=${this.addWindow}>${ask.addWindow}</button></span>
        ${numberField(ask.raster, this.request.raster_hz, KHZ, (raster_hz) => this.put({ raster_hz }))}</div>`;
  }

  private renderExclusions() {
    const { exclusion } = this.request;
    return html`<h2>${ask.exclusions}</h2>${exclusion.map((one, index) => {
      const put = (change: Partial<typeof one>) => this.put({ exclusion: replaced(exclusion, index, change) });
      return html`<div class="row exclusion">${numberField(ask.from, one.start_hz, MHZ, (start_hz) => put({ start_hz }))}
        ${numberField(ask.to, one.stop_hz, MHZ, (stop_hz) => put({ stop_hz }))}${textField(ask.why, one.words, (words) => put({ words }))}
        ${removeButton(one.words || ask.exclusions, () => this.put({ exclusion: without(exclusion, index) }))}</div>`;
    })}<button @click=${this.addExclusion}>${ask.addExclusion}</button>`;
  }

  private renderProfiles() {
    const { profile } = this.request;
    return html`<h2>${ask.profiles}</h2><p class="soft">${ask.guards}</p>${profile.map((one, index) => {
      const put = (change: Partial<PlanProfile>) => this.put({ profile: replaced(profile, index, change) });
      return html`<div class="row profile"><span class="name">${textField(ask.name, one.name, (name) => this.rename(index, name))}
          ${removeButton(one.name, () => this.put({ profile: without(profile, index) }))}</span>
        ${numberField(ask.spacing, one.spacing_hz, KHZ, (spacing_hz) => put({ spacing_hz }))}
        ${numberField(ask.guard2, one.third_two_signal_hz, KHZ, (third_two_signal_hz) => put({ third_two_signal_hz }))}
        ${numberField(ask.guard3, one.third_three_signal_hz, KHZ, (third_three_signal_hz) => put({ third_three_signal_hz }))}
        ${numberField(ask.guard5, one.fifth_two_signal_hz, KHZ, (fifth_two_signal_hz) => put({ fifth_two_signal_hz }))}</div>`;
    })}<button @click=${this.addProfile}>${ask.addProfile}</button>`;
  }

  private renderAim() {
    const aim = this.request.aim ?? "most";
    return html`<h2>${ask.aim}</h2><div class="acts" role="group" aria-label=${ask.aim}>${AIMS.map(
      (one) =>
        html`<button aria-pressed=${one === aim} @click=${() => this.put({ aim: one })}>${ask.aims[one]}</button>`,
    )}</div>`;
  }

  private renderIsolation(): TemplateResult | typeof nothing {
    const zones = zonesOf(this.request);
    const pairs = zones.flatMap((one, index) => zones.slice(index + 1).map((other) => [one, other] as const));
    if (pairs.length === 0) return nothing;
    return html`<h2>${ask.isolation}</h2><p class="soft">${ask.isolationHelp}</p>${pairs.map((pair) => {
      const known = isolationBetween(this.request, pair);
      const put = (isolation: number | null | undefined) => this.put(withIsolation(this.request, pair, isolation));
      const apart = known !== undefined;
      return html`<div class="row pair"><span>${pair[0]}, ${pair[1]}</span>
        <button aria-pressed=${apart} @click=${() => put(apart ? undefined : null)}>${ask.apart}</button>
        ${apart ? numberField(ask.decibels, known, 1, (decibels) => put(Number.isFinite(decibels) ? decibels : null)) : nothing}</div>`;
    })}`;
  }

  private renderKeep() {
    return html`<div class="keep"><button class="main" @click=${() => this.tell("redpoll-request-keep")}>${chartWords.keep}</button>
      <button @click=${() => this.tell("redpoll-request-forget")}>${chartWords.forget}</button></div>`;
  }

  private rename(index: number, name: string): void {
    const before = this.request.profile[index]?.name;
    const group = this.request.group.map((one) => (one.profile === before ? { ...one, profile: name } : one));
    this.put({ profile: replaced(this.request.profile, index, { name }), group });
  }

  private readonly addGroup = (): void => {
    const { group, profile } = this.request;
    const name = ask.newGroup(group.length + 1);
    const made = {
      name,
      zone: group.at(-1)?.zone ?? name,
      profile: profile[0]?.name ?? "",
      count: 2,
      spares: 0,
      tuning: "",
    };
    this.put({ group: [...group, { ...made, kind: "microphone", fixed_hz: [], locked_hz: [] }] });
  };

  private readonly addWindow = (): void => {
    const { window } = this.request;
    const start_hz = window.at(-1)?.stop_hz ?? 470e6;
    this.put({ window: [...window, { start_hz, stop_hz: start_hz + 8e6 }] });
  };

  private readonly addExclusion = (): void => {
    const { exclusion, window } = this.request;
    const start_hz = exclusion.at(-1)?.stop_hz ?? window[0]?.start_hz ?? 470e6;
    this.put({ exclusion: [...exclusion, { start_hz, stop_hz: start_hz + 8e6, words: "" }] });
  };

  private readonly addProfile = (): void => {
    const { profile } = this.request;
    const free = profile.every((one) => one.name !== DIGITAL_PROFILE.name);
    const name = free ? DIGITAL_PROFILE.name : ask.newProfile(profile.length + 1);
    this.put({ profile: [...profile, { ...DIGITAL_PROFILE, name }] });
  };

  private put(change: Change<PlanRequest>): void {
    this.tell("redpoll-request", { ...this.request, ...change });
  }

  private tell(name: string, detail: unknown = null): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

function select(
  label: string,
  choices: readonly string[],
  chosen: string,
  put: (choice: string) => void,
  words: Readonly<Record<string, string>> = {},
) {
  const onChange = (event: Event) => put((event.target as HTMLSelectElement).value);
  return html`<label>${label}<select @change=${onChange}>${choices.map((one) => html`<option value=${one} ?selected=${one === chosen}>${words[one] ?? one}</option>`)}</select></label>`;
}
