import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, state } from "lit/decorators.js";
import { askWhatIf } from "../data/what_if";
import { numberField } from "../elements/plan_fields";
import { railStyles } from "../elements/rail_styles";
import type { Forecast } from "../protocol/model";
import type { WhatIfRequest } from "../protocol/requests";
import { forecastLines } from "../pure/forecast_lines";
import { decimal, megahertz } from "../pure/number_words";
import { chartWords } from "../words/chart_words";
import { requestProblem } from "./acts";

const { whatIf } = chartWords;
/** Common practice for a pack on a body at some distance; each can be said otherwise. */
const BEGIN = { powerDbm: 10, distanceM: 20, bodyLossDb: 15, changeDb: -6 };

/** What turning packs up or down would do to the margins; the plan is untouched. */
@customElement("redpoll-chart-if")
export class RedpollChartIf extends LitElement {
  static override styles = [
    railStyles,
    css`
      .fields { display: grid; grid-template-columns: repeat(3, minmax(0, 1fr)); gap: 6px; }
      .change { display: grid; grid-template-columns: minmax(0, 1.4fr) minmax(0, 1fr) auto; gap: 6px; align-items: end; margin-top: 6px; }
      label { display: grid; gap: 1px; color: var(--text-soft); min-width: 0; white-space: nowrap; }
      input, select { width: 100%; }
      li { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 0 12px; padding: 5px 0; border-top: 1px solid var(--rule); }
      li .soft { grid-column: 1 / -1; }
    `,
  ];

  @property() plan = "";
  @property() revision = "";
  @property({ attribute: false }) zones: readonly string[] = [];
  @state() private zone = "";
  @state() private said = BEGIN;
  @state() private forecast: Forecast | null = null;
  @state() private problem = "";
  private ask = 0;

  override willUpdate(changed: PropertyValues<this>) {
    if (!changed.has("plan") && !changed.has("revision")) return;
    this.forecast = null;
    this.problem = "";
    this.ask += 1;
  }

  override render() {
    const { said } = this;
    const put = (change: Partial<typeof BEGIN>) => {
      this.said = { ...this.said, ...change };
    };
    const onZone = (event: Event) => {
      this.zone = (event.target as HTMLSelectElement).value;
    };
    return html`<h2>${whatIf.title}</h2><p class="soft">${whatIf.help}</p>
      <div class="fields">${numberField(whatIf.power, said.powerDbm, 1, (powerDbm) => put({ powerDbm }))}
        ${numberField(whatIf.distance, said.distanceM, 1, (distanceM) => put({ distanceM }))}
        ${numberField(whatIf.body, said.bodyLossDb, 1, (bodyLossDb) => put({ bodyLossDb }))}</div>
      <div class="change"><label>${whatIf.who}<select @change=${onZone}><option value="">${whatIf.everybody}</option>
          ${this.zones.map((zone) => html`<option ?selected=${zone === this.zone}>${zone}</option>`)}</select></label>
        ${numberField(whatIf.by, said.changeDb, 1, (changeDb) => put({ changeDb }))}
        <button @click=${this.reckon}>${whatIf.reckon}</button></div>
      ${this.problem === "" ? nothing : html`<p class="problem" role="alert">${this.problem}</p>`}
      ${this.forecast === null ? nothing : renderForecast(this.forecast)}`;
  }

  private readonly reckon = async (): Promise<void> => {
    this.ask += 1;
    const ask = this.ask;
    const outcome = await askWhatIf(this.plan, this.asked());
    // A late answer never overwrites a newer one.
    if (ask !== this.ask) return;
    this.problem = requestProblem(outcome);
    this.forecast = outcome.ok ? outcome.value : null;
  };

  private asked(): WhatIfRequest {
    const { powerDbm, distanceM, bodyLossDb, changeDb } = this.said;
    return {
      packs: [{ power_dbm: powerDbm, distance_m: distanceM, body_loss_db: bodyLossDb }],
      antennas: this.zones.map((zone) => ({ name: zone, zone, position_m: [0, 0] })),
      changes: [{ kind: "power by", chosen: this.zone === "" ? {} : { zones: [this.zone] }, change_db: changeDb }],
    };
  }
}

function renderForecast(forecast: Forecast) {
  return html`<div role="status"><ul>${forecastLines(forecast).map(
    (
      line,
    ) => html`<li><span>${line.group}</span><b>${whatIf.change(decimal(line.beforeDb, 1), decimal(line.afterDb, 1))}</b>
      <span class="soft">${whatIf.worst(megahertz(line.frequencyHz))}</span></li>`,
  )}</ul></div><p class="soft">${forecast.caution}</p>`;
}
