import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import type { Picture } from "../data/picture";
import type { Store } from "../data/store";
import type { RedpollLanes } from "../elements/lanes";
import type { NeighboursFacts } from "../elements/neighbours";
import type { RedpollPlanHead } from "../elements/plan_head";
import type { LanesFacts, Maker } from "../plots/lanes";
import type { LitProducts } from "../plots/products";
import { firstRequest } from "../pure/first_request";
import { guidedChannels } from "../pure/guided_facts";
import { besideCarriers, type Neighbour, productNeighbours } from "../pure/neighbours";
import { megahertz } from "../pure/number_words";
import { hears, type PlanRequest, profileOf, together } from "../pure/plan_request";
import type { Span } from "../pure/spectrum";
import { chartKeys, chartWords } from "../words/chart_words";
import { lanesOf, laneWordsOf, litProducts, spanOfPlan } from "./chart_facts";
import { ChartPick } from "./chart_pick";
import { ChartPlan } from "./chart_plan";
import { chartStyles } from "./chart_styles";
import { tuningWindows } from "./chart_tuning";
import { foundFacts, headFacts } from "./chart_words_of";
import type { StageScreen } from "./stages";
import "../elements/lanes";
import "../elements/neighbours";
import "../elements/plan_ask";
import "../elements/plan_found";
import "../elements/plan_head";
import "./chart_if";
import "./chart_use";
import "../elements/guided";

const TABS = ["ask", "found", "use"] as const;
type Tab = (typeof TABS)[number];
const NO_LANES: LanesFacts = { zones: [], masts: [], windows: [], closed: [], field: null };
const WORDS_MS = 5000;

/** The frequencies: who asks for some, where carriers stand, what stands in their way, and how the plan is used. */
@customElement("redpoll-chart")
export class RedpollChart extends LitElement implements StageScreen {
  static override styles = chartStyles;

  @property({ attribute: false }) store: Store | null = null;
  @property({ attribute: false }) picture: Picture | null = null;
  readonly keyList = chartKeys;
  @state() private tab: Tab = "found";
  @query("redpoll-lanes") private readonly lanes?: RedpollLanes;
  @query("redpoll-plan-head") private readonly head?: RedpollPlanHead;
  private readonly chart = new ChartPlan(this);
  private readonly pick = new ChartPick(this);
  private facts: LanesFacts = NO_LANES;
  private given: readonly [number, number] = [0, 0];
  private span: Span = { fromHz: 470e6, toHz: 694e6 };
  private lit: LitProducts | null = null;
  private litOf = "";
  private drawnOf: readonly unknown[] = [];
  private timer: ReturnType<typeof setInterval> | undefined;

  override connectedCallback() {
    super.connectedCallback();
    this.timer = setInterval(() => this.requestUpdate(), WORDS_MS);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearInterval(this.timer);
  }

  override willUpdate(_changed: PropertyValues<this>) {
    this.toggleAttribute("troubled", this.chart.problem !== "");
    this.takeFacts();
  }

  override render() {
    const { chart } = this;
    return html`<redpoll-plan-head .facts=${headFacts(chart, this.mayWrite)}
        @redpoll-plan-open=${(event: CustomEvent<string>) => void chart.open(event.detail)}
        @redpoll-plan-make=${(event: CustomEvent<string>) => this.make(event.detail)}
        @redpoll-find=${(event: CustomEvent<number>) => void chart.find(1, event.detail)}
        @redpoll-stop=${() => void chart.stop()}></redpoll-plan-head>
      ${chart.problem === "" ? nothing : html`<p class="problem" role="alert">${chart.problem}</p>`}
      ${chart.plan === null ? this.renderEmpty() : this.renderPlan()}
      <p class="caution">${chartWords.caution}</p>`;
  }

  press(event: KeyboardEvent): boolean {
    const arrows = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" } as const;
    const way = arrows[event.key as keyof typeof arrows];
    if (way !== undefined) this.lanes?.pickBeside(way);
    else if (event.key === "+" || event.key === "=") this.lanes?.closer(true);
    else if (event.key === "-" || event.key === "\u2212") this.lanes?.closer(false);
    else if (event.key === "," || event.key === ".") this.lanes?.step(event.key === ".");
    else if (event.key === "0") this.lanes?.whole();
    else if (event.key === "v") this.tab = TABS[(TABS.indexOf(this.tab) + 1) % TABS.length] ?? "found";
    else return this.pressPlan(event.key);
    return true;
  }

  recolour(): void {
    this.lanes?.recolour();
  }

  private pressPlan(key: string): boolean {
    if (key === "f" && this.mayWrite) this.head?.find();
    else if (key === "x" && this.mayWrite && this.chart.searching) void this.chart.stop();
    else if (key === "l" && this.canLock) void this.lock();
    else if (key === "Escape" && this.picked !== -1) this.choose(-1);
    else return false;
    return true;
  }

  /** Arrow keys stay those of the lanes, wherever the focus is: each tab is reached by itself, and by its key. */
  private show(tab: Tab): void {
    this.tab = tab;
  }

  private get mayWrite(): boolean {
    return this.picture?.person.roles.includes("engineer") ?? false;
  }

  private get picked(): number {
    return this.pick.among(this.facts.masts);
  }

  private get canLock(): boolean {
    const mast = this.facts.masts[this.picked];
    return this.mayWrite && !this.chart.searching && (mast?.look === "found" || mast?.look === "locked");
  }

  /** The picture anew where what it shows has changed, and not with every event of the fleet. */
  private takeFacts(): void {
    const { chart } = this;
    const { carriers, spares } = chart.standing;
    const of = [chart.plan, chart.request, carriers, chart.field, chart.verdict];
    if (of.every((one, index) => one === this.drawnOf[index])) return;
    this.drawnOf = of;
    const broken = new Set(chart.verdict?.faults.map((fault) => fault.frequency_hz));
    const field = chart.searching ? null : chart.field;
    this.facts = chart.plan === null ? NO_LANES : lanesOf(chart.request, { carriers, spares }, field, broken);
    this.given = [carriers.filter((one) => one.channel !== null).length, carriers.length];
    const span = spanOfPlan(chart.request, { carriers, spares });
    if (span.fromHz !== this.span.fromHz || span.toHz !== this.span.toHz) this.span = span;
  }

  private renderEmpty() {
    return html`<div class="empty"><p>${this.chart.plans === null ? chartWords.loading : chartWords.emptyAdvice}</p></div><div></div>`;
  }

  private renderPlan() {
    const { chart, picked } = this;
    const mast = this.facts.masts[picked];
    const items = this.products;
    const looked = items === null || items === "failed" ? undefined : items[this.pick.looked];
    const makers: readonly Maker[] = looked?.makers ?? [];
    return html`<redpoll-lanes .facts=${this.facts} .span=${this.span} .picked=${picked} .lit=${mast === undefined ? null : this.lightUp()}
        .laneWords=${laneWordsOf(chart.request, chart.standing.carriers)} .makers=${makers} .productHz=${looked?.frequencyHz ?? null}
        description=${headFacts(chart, false).stands} @redpoll-lane-pick=${this.onPick}></redpoll-lanes>
      <aside><div role="tablist" aria-label=${chartWords.tabsLabel}>${TABS.map((tab) => this.renderTab(tab))}</div>
        <div class="panel" id="panel" role="tabpanel" tabindex="0" aria-labelledby=${this.tab}>${this.renderPanel(items)}</div></aside>`;
  }

  private renderTab(tab: Tab) {
    const chosen = tab === this.tab;
    return html`<button role="tab" id=${tab} aria-selected=${chosen} aria-controls="panel"
      @click=${() => this.show(tab)}>${chartWords.tabs[tab]} <span>${chartWords.tabsPlain[tab]}</span></button>`;
  }

  private renderPanel(items: NeighboursFacts["products"]) {
    const { chart } = this;
    switch (this.tab) {
      case "ask":
        return html`<redpoll-plan-ask .request=${chart.request} ?changed=${chart.changed} ?locked=${!this.mayWrite || chart.searching}
          @redpoll-request=${(event: CustomEvent<PlanRequest>) => chart.change(event.detail)}
          @redpoll-request-keep=${() => void chart.keep()} @redpoll-request-forget=${() => void chart.open(chart.name)}></redpoll-plan-ask>`;
      case "found":
        return html`${this.renderNeighbours(items)}<redpoll-plan-found .picked=${this.picked}
          .facts=${foundFacts(chart, this.facts.masts, this.nowUtcUs)} @redpoll-lane-pick=${this.onPick}></redpoll-plan-found>`;
      case "use":
        return html`<redpoll-chart-use .plan=${chart.name} .revision=${chart.tag} .rows=${this.store?.rows ?? []} .given=${this.given}
          ?kept=${!chart.changed && !chart.searching && (chart.plan?.carriers.length ?? 0) > 0} ?locked=${!this.mayWrite}
          @redpoll-give=${() => void chart.give(this.store?.rows ?? [])}></redpoll-chart-use>
          ${!this.mayWrite || chart.changed || chart.searching || chart.tag === "" ? nothing : html`<redpoll-guided .plan=${chart.name} .channels=${guidedChannels(this.store?.rows ?? [])} .nowUtcUs=${this.nowUtcUs} @redpoll-spares-looked=${() => void chart.readAgain()}></redpoll-guided>`}
          ${chart.changed || this.given[1] === 0 ? nothing : html`<redpoll-chart-if .plan=${chart.name} .revision=${chart.tag} .zones=${this.facts.zones}></redpoll-chart-if>`}`;
    }
  }

  private renderNeighbours(items: NeighboursFacts["products"]) {
    const facts = this.neighbours(items);
    if (facts === null && this.facts.masts.length === 0) return nothing;
    return html`<redpoll-neighbours .facts=${facts} @redpoll-lock=${() => void this.lock()} @redpoll-unpick=${() => this.choose(-1)}
      @redpoll-product-look=${(event: CustomEvent<number>) => this.pick.look(event.detail)}></redpoll-neighbours>`;
  }

  private get nowUtcUs(): number {
    return this.store?.clock.utcUs(this.store.clock.seconds(performance.now())) ?? 0;
  }

  private get products(): readonly Neighbour[] | "failed" | null {
    const { products } = this.pick;
    const carrier = this.pickedCarrier;
    if (products === null || products === "failed" || carrier === undefined)
      return products === "failed" ? products : null;
    return productNeighbours(products, profileOf(this.chart.request, carrier.group), megahertz);
  }

  private get pickedCarrier() {
    const { carriers, spares } = this.chart.standing;
    return carriers[this.picked] ?? spares[this.picked - carriers.length];
  }

  private neighbours(products: NeighboursFacts["products"]): NeighboursFacts | null {
    const mast = this.facts.masts[this.picked];
    if (mast === undefined) return null;
    const { request } = this.chart;
    const carrier = this.pickedCarrier;
    const heard = this.chart.standing.carriers.filter(
      (one) =>
        hears(request, mast.zone, one.zone) && (carrier === undefined || together(request, carrier.group, one.group)),
    );
    const others = heard.map((one) => ({
      frequencyHz: one.frequency_hz,
      spacingHz: profileOf(request, one.group)?.spacing_hz ?? 0,
    }));
    const counts = this.lightUp()?.counts ?? [];
    return {
      frequencyHz: mast.frequencyHz,
      where: [carrier?.group ?? mast.zone, chartWords.looks[mast.look]].filter(Boolean).join(", "),
      makes: Array.from(counts).reduce((sum, count) => sum + count, 0),
      products: carrier === undefined ? [] : products,
      carriers: besideCarriers(mast.frequencyHz, others, mast.spacingHz),
      looked: this.pick.looked,
      locked: mast.look === "locked",
      canLock: this.canLock,
    };
  }

  /** The picked carrier's own products, reckoned once for each pick. */
  private lightUp(): LitProducts | null {
    const { carriers } = this.chart.standing;
    const carrier = carriers[this.picked];
    if (carrier === undefined) return null;
    const of = `${carrier.zone} ${carrier.frequency_hz} ${carriers.length} ${this.chart.job?.best?.steps ?? 0} ${this.chart.plan?.steps ?? 0}`;
    if (of !== this.litOf || this.lit === null) this.lit = litProducts(this.chart.request, carrier, carriers);
    this.litOf = of;
    return this.lit;
  }

  private make(title: string): void {
    const window = tuningWindows(this.picture);
    const first = firstRequest(this.picture?.production.positions ?? [], this.span, chartWords.everywhere);
    this.chart.make(title, { ...first, window: window.length > 0 ? window : first.window });
    this.tab = "ask";
  }

  private choose(index: number): void {
    this.pick.pick(this.chart.name, this.facts.masts[index]);
  }

  private async lock(): Promise<void> {
    const mast = this.facts.masts[this.picked];
    if (mast !== undefined) await this.chart.lock(mast.zone, mast.frequencyHz, mast.look !== "locked");
  }

  private readonly onPick = (event: CustomEvent<number>): void => {
    this.choose(event.detail);
    if (event.detail !== -1) this.tab = "found";
  };
}
