import { css, html, LitElement, nothing, type TemplateResult } from "lit";
import { customElement, property } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import type { Capability, Command, Place } from "../protocol/model";
import { words } from "../words/english";
import "./control";

type Value = boolean | number | string;

/** One setting of one thing as it is shown. */
export interface SettingFacts {
  readonly capability: Capability;
  readonly value: Value | null;
  readonly command: Command | null;
  readonly dismissed: boolean;
  readonly problem: string;
  readonly locked: string;
}

/** The settings of one thing. */
export interface SettingGroup {
  readonly place: Place;
  readonly address: string;
  readonly stale: boolean;
  readonly settings: readonly SettingFacts[];
}

/**
 * The settings of some things, each as the control that its capability asks for.
 *
 * Events from its controls carry on with the address: `redpoll-setting` (act, address, field, value, command).
 */
@customElement("redpoll-settings")
export class RedpollSettings extends LitElement {
  static override styles = css`
    :host { display: block; columns: var(--settings-columns, 2 20em); column-gap: 40px; }
    .group { margin-bottom: 10px; }
    redpoll-control { break-inside: avoid; }
    h3 { margin: 0 0 6px; font-size: 15px; font-weight: 650; break-after: avoid; }
    p { margin: 0 0 8px; }
    .soft { color: var(--text-soft); }
  `;

  @property({ attribute: false }) groups: readonly SettingGroup[] = [];
  /** Who is changed, for acts that need it said. */
  @property() target = "";
  /** Whether each group says whose it is. */
  @property({ type: Boolean }) headed = true;
  /** Whether what locks the whole device is said elsewhere. */
  @property() saidLock = "";

  override render() {
    return repeat(
      this.groups,
      (group) => group.address,
      (group) => html`<div class="group">
        ${this.headed ? html`<h3>${words.detail.groups[group.place]} <span class="soft">${group.address}</span></h3>` : nothing}
        ${group.stale ? html`<p class="soft">${words.detail.staleSettings}</p>` : nothing}
        ${repeat(
          group.settings,
          (setting) => setting.capability.field,
          (setting) => this.renderSetting(group, setting),
        )}</div>`,
    );
  }

  private renderSetting(group: SettingGroup, setting: SettingFacts): TemplateResult {
    const field = setting.capability.field;
    const tell = (act: string, extra: object) =>
      this.tell({ act, address: group.address, field, commandId: setting.command?.command_id ?? "", ...extra });
    return html`<redpoll-control data-setting="${group.address} ${field}"
      .capability=${setting.capability} .place=${group.place} .value=${setting.value} .command=${setting.command}
      .dismissed=${setting.dismissed} .problem=${setting.problem} .target=${this.target} .locked=${setting.locked} ?quiet=${setting.locked !== "" && setting.locked === this.saidLock}
      @redpoll-set=${(event: CustomEvent<{ value: Value }>) => tell("set", { value: event.detail.value })}
      @redpoll-cancel=${() => tell("cancel", {})} @redpoll-close-unknown=${() => tell("close", {})}
      @redpoll-dismiss=${() => tell("dismiss", {})}></redpoll-control>`;
  }

  private tell(detail: object): void {
    this.dispatchEvent(new CustomEvent("redpoll-setting", { detail, bubbles: true, composed: true }));
  }
}
