import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { classMap } from "lit/directives/class-map.js";
import { repeat } from "lit/directives/repeat.js";
import type { Store } from "../data/store";
import type { DetailFacts } from "../elements/detail";
import type { RedpollRow } from "../elements/row";
import type { Bracket } from "../pure/brackets";
import { cueState, neededMinutes } from "../pure/cue_state";
import type { RowFacts } from "../pure/row";
import { words } from "../words/english";
import { peopleWords } from "../words/people_words";
import { HeedFrame } from "./heed_frame";
import { rowSizes, zoneStarts } from "./heed_layout";
import { stripeLabels } from "./heed_stripes";
import { heedStyles } from "./heed_styles";
import { NO_TROUBLE, type RowTrouble, rowBrackets, rowTroubles } from "./row_troubles";
import "../elements/axis";
import "../elements/detail";
import "../elements/mark";
import "../elements/row";
import "../elements/zone";

const NARROW = "(max-width: 760px)";

/** The live watch: one row a channel, their strands on one axis, the opened row's detail in place. */
@customElement("redpoll-heed")
export class RedpollHeed extends LitElement {
  static override styles = heedStyles;

  @property({ attribute: false }) store: Store | null = null;
  @property({ attribute: false }) rows: readonly RowFacts[] = [];
  /** Changes with the picture, so that troubles are drawn anew. */
  @property({ attribute: false }) picture: Store["picture"] = null;
  /** What the opened row shows. */
  @property({ attribute: false }) detail: DetailFacts | null = null;
  @property() selected = "";
  @property() opened = "";
  @state() private finding = false;
  @state() private nothingFound = false;

  @query(".scroller") private readonly scroller?: HTMLElement;
  @query(".content") private readonly content?: HTMLElement;
  @query("canvas") private readonly canvas?: HTMLCanvasElement;
  @query(".stripes") private readonly stripes?: HTMLElement;
  @query(".find input") private readonly findField?: HTMLInputElement;
  private frame: HeedFrame | null = null;
  /** Where things stood when they were last measured, so that drawing never makes the browser lay out the page. */
  private headingTops: readonly number[] = [];
  private strandSpan = { left: 0, width: 0 };
  private readonly watcher = new ResizeObserver(() => this.measure());

  override render() {
    const picture = this.picture;
    const troubles = picture === null ? new Map<string, RowTrouble>() : rowTroubles(picture, this.rows);
    const brackets = picture === null ? [] : rowBrackets(picture, this.rows);
    const starts = zoneStarts(this.rows.map((row) => row.zone));
    return html`<redpoll-axis aria-hidden="true"></redpoll-axis>
      <div class="field">
        <div class="scroller" @scroll=${() => this.frame?.scrolled()}>
          <div class="content">
            <div role="treegrid" aria-label=${words.rows} aria-rowcount=${this.rows.length}>
              ${repeat(
                this.rows,
                (row) => row.channel,
                (row, index) =>
                  this.renderRow(row, index, starts[index] ?? false, troubles.get(row.channel) ?? NO_TROUBLE),
              )}
            </div>
            <div class="brackets" aria-hidden="true"><div class="lanes">${brackets.map((one) => renderBracket(one))}</div></div>
            <div class="stripes" aria-hidden="true"></div>
          </div>
        </div>
        <canvas aria-hidden="true"></canvas>
        ${this.renderFind()}
      </div>`;
  }

  private renderRow(row: RowFacts, index: number, startsZone: boolean, trouble: RowTrouble) {
    const selected = row.channel === this.selected;
    const open = row.channel === this.opened;
    return html`${startsZone ? html`<div class="zone" role="row"><span role="gridcell">${row.zone}</span>${this.renderZone(row.zone)}</div>` : nothing}
      <redpoll-row role="row" data-channel=${row.channel} aria-rowindex=${index + 1} aria-selected=${selected}
        aria-expanded=${open} tabindex=${selected || (this.selected === "" && index === 0) ? 0 : -1}
        ?selected=${selected} .facts=${row} .priority=${trouble.priority} .acknowledged=${trouble.acknowledged}
        .trouble=${trouble.verdict} cue=${this.picture === null ? "" : cueState(this.picture.ahead, row.number)}
        .needed=${neededMinutes(this.picture?.ahead, row.number)} @click=${() => this.tell("redpoll-row-open", row.channel)}
        @focus=${() => this.tell("redpoll-row-select", row.channel)}></redpoll-row>
      ${open ? this.renderDetail(row) : nothing}`;
  }

  private renderZone(zone: string) {
    const picture = this.picture;
    if (picture === null || !picture.production.zones.includes(zone)) return nothing;
    const { name, roles } = picture.person;
    const shared = name !== peopleWords.atThisMachine && roles.includes("operator");
    const writer = picture.zones.get(zone);
    if (writer === undefined && !shared) return nothing;
    return html`<span role="gridcell"><redpoll-zone .zone=${zone} .person=${name} .writer=${writer} ?shared=${shared}></redpoll-zone></span>`;
  }

  private renderDetail(row: RowFacts) {
    const store = this.store;
    if (store === null) return nothing;
    return html`<div role="row"><div role="gridcell"><redpoll-detail .facts=${this.detail}
      .bins=${store.strands.of(row.channel)} .now=${() => store.clock.seconds(performance.now())}
      .utc=${(seconds: number) => store.clock.utcUs(seconds)}></redpoll-detail></div></div>`;
  }

  private renderFind() {
    return html`<div class="find" ?hidden=${!this.finding}>
      <label for="find">${words.find}</label>
      <input id="find" autocomplete="off" @input=${this.onFind} @keydown=${this.onFindKey} @blur=${this.endFind} />
      ${this.nothingFound ? html`<span role="status">${words.findNothing}</span>` : nothing}
    </div>`;
  }

  override firstUpdated() {
    if (this.store === null || this.scroller === undefined || this.canvas === undefined) return;
    this.frame = new HeedFrame(this.store, this.scroller, this.canvas, (now) => this.labelStripes(now));
    this.watcher.observe(this.scroller);
    if (this.content !== undefined) this.watcher.observe(this.content);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.frame?.stop();
    this.watcher.disconnect();
  }

  override updated(changed: PropertyValues<this>) {
    if (changed.has("rows") || changed.has("opened")) this.measure();
    if (changed.has("opened") && this.opened !== "") requestAnimationFrame(() => this.revealDetail());
    if (changed.has("picture") || changed.has("rows") || changed.has("opened")) this.placeBrackets();
  }

  /** Takes the colours of the theme anew. */
  recolour(): void {
    this.frame?.recolour();
  }

  /** Puts the focus on a row and brings it into sight. */
  focusRow(channel: string): void {
    const row = this.rowElements().find((one) => one.facts?.channel === channel);
    row?.focus({ preventScroll: true });
    row?.scrollIntoView({ block: "nearest" });
  }

  /** Brings the opened detail into sight, and its row with it. */
  private revealDetail(): void {
    const detail = this.renderRoot.querySelector("redpoll-detail");
    detail?.scrollIntoView({ block: "nearest" });
    this.rowElements()
      .find((row) => row.facts?.channel === this.opened)
      ?.scrollIntoView({ block: "nearest" });
  }

  /** Opens the field that finds a number or part. */
  find(): void {
    this.finding = true;
    void this.updateComplete.then(() => this.findField?.focus());
  }

  private rowElements(): RedpollRow[] {
    return [...this.renderRoot.querySelectorAll<RedpollRow>("redpoll-row")];
  }

  private measure(): void {
    if (this.scroller === undefined) return;
    const zones = zoneStarts(this.rows.map((row) => row.zone)).filter(Boolean).length;
    const narrow = matchMedia(NARROW).matches;
    const sizes = rowSizes({ height: this.scroller.clientHeight, rows: this.rows.length, zones, narrow });
    const set = (name: string, pixels: number) => this.style.setProperty(name, `${pixels}px`);
    set("--row-height", sizes.row);
    set("--zone-height", sizes.zone);
    set("--size-part", sizes.part);
    set("--size-number", sizes.number);
    set("--bar-height", sizes.bar);
    set("--mark-size", Math.min(sizes.row - 2, 24));
    const rows = this.rowElements();
    this.headingTops = rows.map((row) => headingAbove(row).offsetTop);
    const box = rows[0]?.strandBox() ?? new DOMRect();
    this.strandSpan = { left: box.left - this.scroller.getBoundingClientRect().left, width: box.width };
    this.frame?.measure(rows);
    this.placeBrackets();
  }

  private placeBrackets(): void {
    const rows = this.rowElements();
    for (const element of this.renderRoot.querySelectorAll<HTMLElement>(".bracket")) {
      const first = rows[Number(element.dataset["first"])];
      const last = rows[Number(element.dataset["last"])];
      if (first === undefined || last === undefined) continue;
      element.style.top = `${first.offsetTop + 3}px`;
      element.style.height = `${last.offsetTop + last.offsetHeight - first.offsetTop - 6}px`;
      for (const tick of element.querySelectorAll<HTMLElement>("i")) {
        const row = rows[Number(tick.dataset["row"])];
        if (row !== undefined) tick.style.top = `${row.offsetTop - first.offsetTop + row.offsetHeight / 2 - 5}px`;
      }
    }
  }

  private labelStripes(now: number): void {
    if (this.store === null || this.stripes === undefined) return;
    const { left, width } = this.strandSpan;
    const labels = stripeLabels(this.store, now, width);
    while (this.stripes.childElementCount > labels.length) this.stripes.lastElementChild?.remove();
    for (const [index, label] of labels.entries()) {
      const element = (this.stripes.children[index] ?? this.stripes.appendChild(newStripe())) as HTMLElement;
      if (element.textContent !== label.text) element.textContent = label.text;
      element.style.transform = `translate(${left + label.left}px, ${this.headingTops[label.row] ?? 0}px)`;
    }
  }

  private onFind(): void {
    const sought = (this.findField?.value ?? "").trim().toLowerCase();
    const found =
      this.rows.find((row) => `${row.number}` === sought) ??
      this.rows.find((row) => row.part.toLowerCase().includes(sought));
    this.nothingFound = found === undefined;
    if (found !== undefined && sought !== "") this.tell("redpoll-row-select", found.channel);
  }

  private onFindKey(event: KeyboardEvent): void {
    event.stopPropagation();
    if (event.key !== "Enter" && event.key !== "Escape") return;
    this.endFind();
    this.focusRow(this.selected);
  }

  private endFind(): void {
    this.finding = false;
    this.nothingFound = false;
    if (this.findField !== undefined) this.findField.value = "";
  }

  private tell(name: string, channel: string): void {
    this.dispatchEvent(new CustomEvent(name, { detail: { channel }, bubbles: true, composed: true }));
  }
}

function renderBracket(bracket: Bracket) {
  const level = ["one", "two", "three"][bracket.priority - 1] ?? "three";
  const classes = { bracket: true, [level]: true, lane0: bracket.lane === 0, lane1: bracket.lane !== 0 };
  const broken = bracket.touched.length !== bracket.last - bracket.first + 1;
  return html`<div class=${classMap(classes)} data-first=${bracket.first} data-last=${bracket.last}>
    ${broken ? bracket.touched.map((row) => html`<i data-row=${row}></i>`) : nothing}
    <redpoll-mark .priority=${bracket.priority} ?hollow=${bracket.acknowledged}></redpoll-mark>
  </div>`;
}

/** The heading of the zone that a row stands in, or the row itself where it has none. */
function headingAbove(row: HTMLElement): HTMLElement {
  let element: Element | null = row;
  while (element !== null && element.className !== "zone") element = element.previousElementSibling;
  return element instanceof HTMLElement ? element : row;
}

function newStripe(): HTMLElement {
  const label = document.createElement("span");
  label.className = "stripe";
  return label;
}
