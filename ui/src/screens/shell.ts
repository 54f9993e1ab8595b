import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import type { Connection } from "../data/connection";
import { rowJournal } from "../data/row_journal";
import type { Link, Store } from "../data/store";
import type { DetailFacts } from "../elements/detail";
import type { FootFacts } from "../elements/foot";
import type { RedpollKeys } from "../elements/keys";
import type { RedpollStrip } from "../elements/strip";
import { clockWords } from "../pure/number_words";
import type { RowFacts } from "../pure/row";
import { waiting } from "../pure/slots";
import { words } from "../words/english";
import { acknowledgeAlarms, endCommand, type SettingAct, setValue, tryDevice } from "./acts";
import { detailFacts } from "./detail_facts";
import { footFacts } from "./foot_facts";
import type { RedpollHeed } from "./heed";
import { actOfKey, type KeyAct } from "./key_acts";
import { wordsOf } from "./names";
import { shellStyles } from "./shell_styles";
import { slotFacts } from "./slot_facts";
import {
  applyPalette,
  applyTheme,
  changePalette,
  changeTheme,
  initialPalette,
  initialTheme,
  type Palette,
  type Theme,
} from "./theme";
import "../elements/foot";
import "../elements/keys";
import "../elements/strip";
import "../elements/top";
import "./gate";
import "./heed";

const WORDS_MS = 250;
const SAID_MS = 5000;

const STANDINGS = ["engineer", "operator", "viewer"] as const;

/** The role that says most about what somebody may do here. */
function standing(roles: readonly string[]): string {
  const found = STANDINGS.find((role) => roles.includes(role));
  return found === undefined ? "" : words.roles[found];
}

/** The frame of every screen: head, what needs you, the live watch, foot; and what the keys do. */
@customElement("redpoll-shell")
export class RedpollShell extends LitElement {
  static override styles = shellStyles;

  @property({ attribute: false }) store: Store | null = null;
  @property({ attribute: false }) connection: Connection | null = null;
  @state() private selected = "";
  @state() private opened = "";
  @state() private journal: DetailFacts["journal"] = null;
  @state() private dismissed: ReadonlySet<string> = new Set();
  @state() private problems: ReadonlyMap<string, string> = new Map();
  @state() private foot: FootFacts | null = null;
  @state() private clock = "";
  @state() private retryS = 0;
  @state() private said = "";
  @state() private theme: Theme = initialTheme();
  @state() private palette: Palette = initialPalette();
  @query("redpoll-heed") private readonly heed?: RedpollHeed;
  @query("redpoll-strip") private readonly strip?: RedpollStrip;
  @query("redpoll-keys") private readonly keys?: RedpollKeys;
  private slotMatter = "";
  private timer: ReturnType<typeof setInterval> | undefined;
  private saidTimer: ReturnType<typeof setTimeout> | undefined;
  private unsubscribe: (() => void) | undefined;
  private journalAsk = 0;
  private journalSequence = -1;
  private readonly onKeyDown = (event: KeyboardEvent) => this.onKey(event);

  override connectedCallback() {
    super.connectedCallback();
    applyTheme(this.theme);
    applyPalette(this.palette);
    document.addEventListener("keydown", this.onKeyDown);
    this.timer = setInterval(() => this.takeTime(), WORDS_MS);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    document.removeEventListener("keydown", this.onKeyDown);
    clearInterval(this.timer);
    this.unsubscribe?.();
  }

  override willUpdate(changed: PropertyValues<this>) {
    if (!changed.has("store")) return;
    this.unsubscribe?.();
    this.unsubscribe = this.store?.subscribe(() => this.onStore());
  }

  override updated() {
    const picture = this.store?.picture ?? null;
    document.title = picture === null ? words.product : words.title(picture.production.name, picture.matters.length);
  }

  override render() {
    const store = this.store;
    if (store === null) return nothing;
    if (store.link.state === "no session") return html`<redpoll-gate .reason=${store.link.reason}></redpoll-gate>`;
    const picture = store.picture;
    if (picture === null)
      return html`<main class="opening">${this.renderLink(store.link) ?? words.link.opening}</main>`;
    const troubled = picture.matters.find((matter) => matter.rows.includes(this.selected));
    return html`<redpoll-top .production=${picture.production.name} .simulated=${store.rows.some((row) => row.simulated)}
        .person=${picture.person.name} .standing=${standing(picture.person.roles)} .clock=${this.clock}
        .nextTheme=${this.theme === "dark" ? "light" : "dark"} role="banner" @redpoll-theme=${this.onTheme}></redpoll-top>
      <main>
        ${this.renderLink(store.link)}
        <redpoll-strip .slots=${slotFacts(picture, store.rows)} .waiting=${waiting(picture.slots, picture.matters)}
          .selected=${troubled?.matter_id ?? ""} @redpoll-slot-select=${this.onSlotSelect}
          @redpoll-slot-open=${this.onSlotOpen}></redpoll-strip>
        <p class="news" role="status">${this.news()}</p>
        <redpoll-heed .store=${store} .rows=${store.rows} .picture=${picture} .selected=${this.selected}
          .opened=${this.opened} .detail=${this.detailOf(this.opened)} @redpoll-row-select=${this.onRowSelect}
          @redpoll-row-open=${this.onRowOpen} @redpoll-setting=${this.onSetting} @redpoll-retry=${() => this.retry()}
          @redpoll-acknowledge=${this.onAcknowledge} @redpoll-detail-close=${() => this.open("")}></redpoll-heed>
      </main>
      <redpoll-foot role="contentinfo" .facts=${this.foot} .said=${this.said}></redpoll-foot>
      <redpoll-keys ?withoutRed=${this.palette === "no-red"} @redpoll-palette=${this.onPalette}></redpoll-keys>`;
  }

  private renderLink(link: Link) {
    if (link.state !== "lost") return null;
    const at = this.store?.frameAt ?? Number.NEGATIVE_INFINITY;
    const showing = Number.isFinite(at) ? words.link.showing(clockWords(this.store?.clock.utcUs(at) ?? 0)) : "";
    return html`<div class="lost" role="alert"><strong>${words.link.lost}</strong>
      <span>${link.reason === "" ? "" : words.link.because(link.reason)}</span> <span>${showing}</span>
      <span class="again">${words.link.again(this.retryS)}</span>
      <button @click=${() => this.connection?.retryNow()}>${words.link.retry}</button></div>`;
  }

  /** What a person who can't see the slots hears: the matter that began last. */
  private news(): string {
    const picture = this.store?.picture ?? null;
    if (picture === null || picture.matters.length === 0) return words.allQuiet;
    const latest = picture.matters.reduce((one, other) => (other.began_utc_us > one.began_utc_us ? other : one));
    const said = wordsOf(picture, this.store?.rows ?? [], latest);
    return `${words.priority(latest.priority)}: ${said.title}, ${said.evidence}`;
  }

  private detailOf(channel: string): DetailFacts | null {
    const row = this.rowOf(channel);
    const store = this.store;
    const picture = store?.picture ?? null;
    if (store === null || row === undefined || picture === null) return null;
    const nowUtcUs = store.clock.begun ? store.clock.utcUs(store.clock.seconds(performance.now())) : 0;
    const answers = { dismissed: this.dismissed, problems: this.problems, nowUtcUs };
    return detailFacts(picture, store.rows, row, answers, this.journal);
  }

  private rowOf(channel: string): RowFacts | undefined {
    return this.store?.rows.find((row) => row.channel === channel);
  }

  private onStore(): void {
    this.requestUpdate();
    const sequence = this.store?.picture?.sequence ?? -1;
    if (this.opened !== "" && sequence !== this.journalSequence) void this.readJournal();
  }

  private takeTime(): void {
    const store = this.store;
    if (store === null) return;
    if (store.link.state === "lost" && store.link.retryAtMs !== null) {
      this.retryS = Math.max(Math.ceil((store.link.retryAtMs - performance.now()) / 1000), 0);
    }
    if (!store.clock.begun) return;
    const now = store.clock.seconds(performance.now());
    this.clock = clockWords(store.clock.utcUs(now));
    this.foot = footFacts(store, now);
  }

  private async readJournal(): Promise<void> {
    const row = this.rowOf(this.opened);
    if (row === undefined) return;
    this.journalAsk += 1;
    const ask = this.journalAsk;
    this.journalSequence = this.store?.picture?.sequence ?? -1;
    const events = await rowJournal(row, this.journalSequence);
    // A late answer never overwrites a newer one.
    if (ask === this.journalAsk) this.journal = events ?? "failed";
  }

  private onKey(event: KeyboardEvent): void {
    const inField = event.composedPath()[0];
    const typing = inField instanceof HTMLInputElement || inField instanceof HTMLSelectElement;
    const act = actOfKey(event, typing, this.keys?.shown ?? false);
    if (act === null) return;
    if (this.do(act, event)) event.preventDefault();
  }

  /** Does what a key stands for; says whether the key is used up. */
  private do(act: KeyAct, event: KeyboardEvent): boolean {
    const target = event.composedPath()[0] as HTMLElement;
    switch (act.act) {
      case "move":
        this.move(act.by);
        return true;
      case "open":
        if (target.localName !== "redpoll-row") return false;
        this.open(this.opened === this.selected ? "" : this.selected);
        return true;
      case "close":
        if (this.opened === "") return false;
        this.open("");
        return true;
      case "acknowledge":
        void this.acknowledgeHere();
        return true;
      case "slot":
        return this.strip?.focusSlot(act.index) ?? false;
      case "retry":
        this.retry();
        return true;
      case "find":
        this.heed?.find();
        return true;
      case "theme":
        this.onTheme();
        return true;
      case "keys":
        this.keys?.show();
        return true;
    }
  }

  private move(by: number): void {
    const rows = this.store?.rows ?? [];
    const at = rows.findIndex((row) => row.channel === this.selected);
    const next = at === -1 ? (by > 0 ? 0 : rows.length - 1) : Math.min(Math.max(at + by, 0), rows.length - 1);
    this.select(rows[next]?.channel ?? "");
    this.heed?.focusRow(this.selected);
  }

  private select(channel: string): void {
    this.selected = channel;
    this.slotMatter = "";
  }

  private open(channel: string): void {
    const before = this.opened;
    this.opened = channel;
    this.journal = null;
    this.problems = new Map();
    if (channel === "") this.heed?.focusRow(before);
    else void this.readJournal();
  }

  private onRowSelect(event: CustomEvent<{ channel: string }>): void {
    this.select(event.detail.channel);
  }

  private onRowOpen(event: CustomEvent<{ channel: string }>): void {
    this.select(event.detail.channel);
    this.open(this.opened === event.detail.channel ? "" : event.detail.channel);
  }

  private onSlotSelect(event: CustomEvent<{ matterId: string }>): void {
    this.slotMatter = event.detail.matterId;
  }

  private onSlotOpen(event: CustomEvent<{ matterId: string }>): void {
    const matter = this.store?.picture?.matters.find((one) => one.matter_id === event.detail.matterId);
    const first = this.store?.rows.find((row) => matter?.rows.includes(row.channel));
    if (first === undefined) return;
    this.select(first.channel);
    this.heed?.focusRow(first.channel);
  }

  private async acknowledgeHere(): Promise<void> {
    const matters = this.store?.picture?.matters ?? [];
    const here = matters.filter((one) =>
      this.slotMatter === "" ? one.rows.includes(this.selected) : one.matter_id === this.slotMatter,
    );
    const open = here.filter((one) => !one.acknowledged);
    this.say(await acknowledgeAlarms(open.flatMap((one) => one.alarms)));
  }

  private async onAcknowledge(event: CustomEvent<{ matterId: string }>): Promise<void> {
    const matter = this.store?.picture?.matters.find((one) => one.matter_id === event.detail.matterId);
    this.say(await acknowledgeAlarms(matter?.alarms ?? []));
  }

  private retry(): void {
    const row = this.rowOf(this.selected);
    if (this.store === null || row === undefined) return;
    void tryDevice(this.store, row.deviceId).then((said) => this.say(said));
  }

  private async onSetting(event: CustomEvent<SettingAct>): Promise<void> {
    const { act, address, field, commandId, value } = event.detail;
    if (this.store === null) return;
    const key = `${address} ${field}`;
    this.problems = new Map([...this.problems].filter(([known]) => known !== key));
    if (act === "dismiss") {
      this.dismissed = new Set([...this.dismissed, commandId]);
      return;
    }
    const problem =
      act === "set" ? await setValue(this.store, address, field, value ?? "") : await endCommand(act, commandId);
    if (problem !== "") this.problems = new Map([...this.problems, [key, problem]]);
  }

  private onTheme(): void {
    this.theme = changeTheme(this.theme);
    this.heed?.recolour();
  }

  private onPalette(): void {
    this.palette = changePalette(this.palette);
  }

  private say(text: string): void {
    clearTimeout(this.saidTimer);
    this.said = text;
    this.saidTimer = setTimeout(() => {
      this.said = "";
    }, SAID_MS);
  }
}
