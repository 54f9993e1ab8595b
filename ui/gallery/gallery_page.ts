import { css, html, LitElement } from "lit";
import { customElement, query, queryAll, state } from "lit/decorators.js";
import { Store } from "../src/data/store";
import type { RedpollKeys } from "../src/elements/keys";
import type { RedpollRow } from "../src/elements/row";
import { applyTheme, type Theme } from "../src/screens/theme";
import { FakeConsole } from "./fake_console";
import { SECTIONS } from "./sections";
import { CHART_SECTIONS } from "./sections_chart";
import { GUIDED_SECTIONS } from "./sections_guided";
import { SCOUT_SECTIONS } from "./sections_scout";
import "../src/elements/detail";
import "../src/elements/history";
import "../src/elements/keys";
import "../src/elements/row";
import "../src/elements/strand";

/** Rows of the invented production that show each state of a row. */
const SHOWN_ROWS: readonly (readonly [state: string, number: number])[] = [
  ["on air, deaf on B", 1],
  ["weak, with the mark of its matter", 10],
  ["asleep", 16],
  ["an analog one", 20],
  ["no report", 21],
  ["a digital one", 24],
];
const WORDS_MS = 250;

/** Every element in every state, on a page of its own; fed by an invented console. */
@customElement("redpoll-gallery")
export class RedpollGallery extends LitElement {
  static override styles = css`
    :host { display: block; height: 100vh; overflow-y: auto; padding: 24px 32px; --row-columns: 40px 34px 174px 26px 72px 44px 82px 136px 16px minmax(0, 1fr) 14px; }
    h1 { font-size: 22px; }
    h2 { margin: 32px 0 8px; font-size: 17px; border-bottom: 1px solid var(--rule); }
    .state { display: grid; grid-template-columns: 15em minmax(0, 1fr); gap: 16px; align-items: center; padding: 6px 0; }
    .name { color: var(--text-soft); }
    redpoll-life { width: 150px; }
    redpoll-strip { height: 90px; }
    redpoll-spectrum { height: 460px; }
    redpoll-top { height: 48px; }
    redpoll-foot, redpoll-axis { height: 32px; }
    redpoll-control { max-width: 34em; }
    button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); min-height: 44px; padding: 0 16px; }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  `;

  @state() private theme: Theme = "dark";
  @query("redpoll-keys") private readonly keys?: RedpollKeys;
  @queryAll("redpoll-row") private readonly rowElements!: NodeListOf<RedpollRow>;
  private readonly store = new Store();
  private readonly now = () => this.store.clock.seconds(performance.now());
  private readonly console = new FakeConsole(this.store, "busy");
  private timer: ReturnType<typeof setInterval> | undefined;

  override connectedCallback() {
    super.connectedCallback();
    applyTheme(this.theme);
    this.console.start();
    this.timer = setInterval(() => this.move(), WORDS_MS);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.console.stop();
    clearInterval(this.timer);
  }

  override render() {
    return html`<main>
      <h1>Elements of Redpoll</h1>
      <button @click=${this.changeTheme}>The other theme</button>
      ${[...SECTIONS, ...SCOUT_SECTIONS, ...CHART_SECTIONS, ...GUIDED_SECTIONS].map((section) => html`<h2>${section.name}</h2>${section.states.map(([name, shown]) => renderState(name, shown))}`)}
      <h2>redpoll-row</h2>
      <div role="treegrid" aria-label="rows">${SHOWN_ROWS.map(([name, number]) => this.renderRow(name, number))}</div>
      <h2>redpoll-strand</h2>
      ${renderState("two hours", html`<redpoll-strand .bins=${this.store.strands.of("house-2/channel/1")} .now=${this.now} description="two hours of a row"></redpoll-strand>`)}
      <h2>redpoll-history</h2>
      ${renderState("ten minutes", html`<redpoll-history .bins=${this.store.strands.of("house-2/channel/1")} .now=${this.now} .utc=${(at: number) => this.store.clock.utcUs(at)}></redpoll-history>`)}
      <h2>redpoll-keys</h2>
      ${renderState("closed until asked for", html`<button @click=${() => this.keys?.show()}>Show the keys</button><redpoll-keys></redpoll-keys>`)}
    </main>`;
  }

  private renderRow(name: string, number: number) {
    const row = this.store.rows.find((one) => one.number === number);
    const weak = number === 10;
    return html`<div class="state" role="none"><span class="name" role="none">${name}</span><redpoll-row role="row" tabindex="0"
      .facts=${row ?? null} .priority=${weak ? 2 : 0} .trouble=${weak ? "weak" : ""}></redpoll-row></div>`;
  }

  private move(): void {
    for (const element of this.rowElements) {
      if (element.facts === null) continue;
      const live = this.store.live(element.facts, this.now());
      element.showMeters(live, this.now());
      element.showWords(live);
    }
  }

  private changeTheme(): void {
    this.theme = this.theme === "dark" ? "light" : "dark";
    applyTheme(this.theme);
  }
}

function renderState(name: string, shown: unknown) {
  return html`<div class="state"><span class="name">${name}</span><div>${shown}</div></div>`;
}
