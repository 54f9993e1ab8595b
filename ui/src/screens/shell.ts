import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import type { Connection } from "../data/connection";
import { zoneAct } from "../data/people";
import type { Picture } from "../data/picture";
import type { Store } from "../data/store";
import type { DetailFacts } from "../elements/detail";
import type { FootFacts } from "../elements/foot";
import type { RedpollKeys } from "../elements/keys";
import type { RedpollStrip } from "../elements/strip";
import type { RedpollWaiting } from "../elements/waiting";
import type { ZoneAsk } from "../elements/zone";
import { clockWords } from "../pure/number_words";
import { waiting } from "../pure/slots";
import { words } from "../words/english";
import { peopleWords } from "../words/people_words";
import type { RedpollAccount } from "./account";
import { acknowledgeAlarms, type SettingAct, tryDevice } from "./acts";
import { placeWords } from "./ahead_facts";
import { detailFacts } from "./detail_facts";
import type { RedpollDevices } from "./devices";
import { Evening, type ShowStep } from "./evening";
import { footFacts } from "./foot_facts";
import type { RedpollHeed } from "./heed";
import { actOfKey, type KeyAct, type PlainAct } from "./key_acts";
import { Looks } from "./looks";
import { news, standing } from "./news";
import { OpenedRow } from "./opened_row";
import { Said } from "./said";
import { SettingAnswers } from "./setting_answers";
import { renderLostLink, secondsToRetry } from "./shell_link";
import { shellStyles } from "./shell_styles";
import { slotFacts, waitingFacts } from "./slot_facts";
import { StagePlace, type StageScreen } from "./stages";
import type { OpenThing, RedpollThing } from "./thing";
import "../elements/ahead";
import "../elements/foot";
import "../elements/keys";
import "../elements/stages";
import "../elements/strip";
import "../elements/top";
import "../elements/waiting";
import "./devices";
import "./account";
import "./chart";
import "./gate";
import "./heed";
import "./scout";
import "./thing";

const WORDS_MS = 250;

/** The acts of keys that belong to the live watch alone. */
const WATCH_ACTS: readonly KeyAct["act"][] = ["open", "advance", "back", "receiver", "retry", "find"];

/** The frame of every screen: head, stages, what needs you, the stage's own screen, foot; and what the keys do. */
@customElement("redpoll-shell")
export class RedpollShell extends LitElement {
  static override styles = shellStyles;

  @property({ attribute: false }) store: Store | null = null;
  @property({ attribute: false }) connection: Connection | null = null;
  @state() private foot: FootFacts | null = null;
  @state() private clock = "";
  @state() private retryS = 0;
  /** The device whose sheet is open, and the part of it that was asked for. */
  @state() private thing: OpenThing | null = null;
  @query("redpoll-heed") private readonly heed?: RedpollHeed;
  @query("redpoll-account") private readonly account?: RedpollAccount;
  @query("redpoll-strip") private readonly strip?: RedpollStrip;
  @query("redpoll-thing") private readonly sheet?: RedpollThing;
  @query("redpoll-waiting") private readonly waiting?: RedpollWaiting;
  @query("redpoll-devices") private readonly devices?: RedpollDevices;
  @query("redpoll-keys") private readonly keys?: RedpollKeys;
  @query("redpoll-scout, redpoll-chart") private readonly stage?: StageScreen;
  private readonly looks = new Looks(this, () => (this.stage ?? this.heed)?.recolour());
  private readonly stages = new StagePlace(this);
  private readonly said = new Said(this);
  private readonly row = new OpenedRow(this, () => this.store);
  private readonly answers = new SettingAnswers(this, () => this.store);
  private readonly evening = new Evening(this, this.said);
  private slotMatter = "";
  private timer: ReturnType<typeof setInterval> | undefined;
  private unsubscribe: (() => void) | undefined;
  private readonly onKeyDown = (event: KeyboardEvent) => this.onKey(event);

  override connectedCallback() {
    super.connectedCallback();
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
    this.unsubscribe = this.store?.subscribe(() => {
      this.requestUpdate();
      this.row.refresh();
    });
  }

  override updated() {
    const picture = this.store?.picture ?? null;
    document.title = picture === null ? words.product : words.title(picture.production.name, picture.matters.length);
  }

  override render() {
    const store = this.store;
    if (store === null) return nothing;
    if (store.link.state === "no session")
      return html`<redpoll-gate .reason=${store.link.reason} @redpoll-entered=${() => this.connection?.retryNow()}></redpoll-gate>`;
    const picture = store.picture;
    const lost = renderLostLink(store, this.retryS, () => this.connection?.retryNow());
    if (picture === null) return html`<main class="opening">${lost ?? words.link.opening}</main>`;
    return html`${this.renderTop(store, picture)}
      <main>
        ${lost}
        ${this.renderStrip(store, picture)}
        <p class="news" role="status">${news(picture, store.rows)}</p>
        ${this.renderStage(store, picture)}
        ${this.renderThing(store)}
      </main>
      <redpoll-foot role="contentinfo" .facts=${this.foot} .keys=${this.stages.current === "heed" ? words.foot.keys : words.foot.keysElsewhere} .said=${this.said.text}
        @redpoll-devices-open=${() => this.devices?.show()}></redpoll-foot>
      <redpoll-devices .store=${store}
        @redpoll-thing-open=${(event: CustomEvent<OpenThing>) => this.openThing(event.detail)}></redpoll-devices>
      <redpoll-waiting .matters=${waitingFacts(picture, store.rows)}
        @redpoll-slot-open=${this.onSlotOpen}></redpoll-waiting>
      <redpoll-keys ?withoutRed=${this.looks.palette === "no-red"}
        @redpoll-palette=${() => this.looks.changePalette()}></redpoll-keys>`;
  }

  private renderTop(store: Store, picture: Picture) {
    return html`<redpoll-top .production=${picture.production.name} .place=${placeWords(picture)}
      .simulated=${store.rows.some((row) => row.simulated)}
      .person=${picture.person.name} .standing=${standing(picture.person.roles)} .clock=${this.clock}
      .nextTheme=${this.looks.theme === "dark" ? "light" : "dark"} role="banner"
      @redpoll-account=${() => this.account?.show()} @redpoll-theme=${() => this.looks.changeTheme()}>
        <redpoll-stages current=${this.stages.current}></redpoll-stages></redpoll-top>
      <redpoll-account .person=${picture.person.name} .standing=${standing(picture.person.roles)}
        @redpoll-left=${() => this.connection?.retryNow()}></redpoll-account>`;
  }

  private async onZone({ verb, ...asked }: ZoneAsk): Promise<void> {
    const answer = await zoneAct(verb, asked);
    if (!answer.ok) this.said.say(answer.detail || peopleWords.failed);
  }

  private renderStrip(store: Store, picture: Picture) {
    const troubled = picture.matters.find((matter) => matter.rows.includes(this.row.selected));
    return html`<redpoll-strip .slots=${slotFacts(picture, store.rows)} .waiting=${waiting(picture.slots, picture.matters)}
      .selected=${troubled?.matter_id ?? ""} @redpoll-slot-select=${this.onSlotSelect}
      @redpoll-waiting-open=${() => this.waiting?.show()}
      @redpoll-slot-open=${this.onSlotOpen}></redpoll-strip>`;
  }

  private renderStage(store: Store, picture: Picture) {
    const onSaid = (event: CustomEvent<string>) => this.said.say(event.detail);
    const inert = this.thing !== null;
    switch (this.stages.current) {
      case "scout":
        return html`<redpoll-scout ?inert=${inert} .store=${store} .picture=${picture} @redpoll-said=${onSaid}></redpoll-scout>`;
      case "chart":
        return html`<redpoll-chart ?inert=${inert} .store=${store} .picture=${picture} @redpoll-said=${onSaid}></redpoll-chart>`;
      case "heed":
        return html`${this.renderHeed(store, picture)}${this.renderAhead(picture)}`;
    }
  }

  private renderHeed(store: Store, picture: Picture) {
    const onZone = (event: CustomEvent<ZoneAsk>) => void this.onZone(event.detail);
    return html`<redpoll-heed @redpoll-zone=${onZone} ?inert=${this.thing !== null} .store=${store} .rows=${store.rows} .picture=${picture} .selected=${this.row.selected}
      .opened=${this.row.opened} .detail=${this.detailOf(store, picture)} @redpoll-row-select=${this.onRowSelect}
      @redpoll-row-open=${this.onRowOpen} @redpoll-retry=${() => this.retry()}
      @redpoll-setting=${(event: CustomEvent<SettingAct>) => this.answers.take(event.detail)}
      @redpoll-acknowledge=${this.onAcknowledge} @redpoll-detail-close=${() => this.open("")}
      @redpoll-thing-open=${(event: CustomEvent<OpenThing>) => this.openThing(event.detail)}></redpoll-heed>`;
  }

  private renderAhead(picture: Picture) {
    const facts = this.evening.facts(picture);
    return html`<redpoll-ahead ?hidden=${facts === null} .facts=${facts}
      @redpoll-show-step=${(event: CustomEvent<ShowStep>) => this.evening.step(event.detail)}></redpoll-ahead>`;
  }

  private renderThing(store: Store) {
    if (this.thing === null) return nothing;
    return html`<redpoll-thing .store=${store} .deviceId=${this.thing.deviceId} .address=${this.thing.address}
      @redpoll-sheet-close=${() => this.openThing(null)}
      @redpoll-thing-retry=${(event: CustomEvent<{ deviceId: string }>) => this.retry(event.detail.deviceId)}></redpoll-thing>`;
  }

  private detailOf(store: Store, picture: Picture): DetailFacts | null {
    const row = this.row.row(this.row.opened);
    if (row === undefined) return null;
    const nowUtcUs = store.clock.begun ? store.clock.utcUs(store.clock.seconds(performance.now())) : 0;
    return detailFacts(picture, store.rows, row, this.answers.at(nowUtcUs), this.row.journal);
  }

  private takeTime(): void {
    const store = this.store;
    if (store === null) return;
    this.retryS = secondsToRetry(store, performance.now());
    if (!store.clock.begun) return;
    const now = store.clock.seconds(performance.now());
    this.clock = clockWords(store.clock.utcUs(now));
    this.foot = footFacts(store, now);
    this.evening.takeTime(store.clock.utcUs(now));
  }

  private onKey(event: KeyboardEvent): void {
    const inField = event.composedPath()[0];
    const typing =
      inField instanceof HTMLInputElement ||
      inField instanceof HTMLSelectElement ||
      inField instanceof HTMLTextAreaElement;
    const shown = this.keys?.shown || this.account?.shown || false;
    const act = actOfKey(event, typing, shown);
    const free = !typing && !shown && this.thing === null && !(event.ctrlKey || event.altKey || event.metaKey);
    if (free && this.stage?.press(event)) event.preventDefault();
    else if (act !== null && this.do(act, event)) event.preventDefault();
  }

  /** Does what a key stands for; says whether the key is used up. */
  private do(act: KeyAct, event: KeyboardEvent): boolean {
    const target = event.composedPath()[0] as HTMLElement;
    if (this.stages.current !== "heed" && (WATCH_ACTS.includes(act.act) || (act.act === "move" && this.thing === null)))
      return false;
    switch (act.act) {
      case "stage":
        this.stages.go(act.stage);
        return true;
      case "move":
        if (this.thing !== null) {
          this.sheet?.move(act.by);
          return true;
        }
        this.slotMatter = "";
        this.row.move(act.by);
        this.heed?.focusRow(this.row.selected);
        return true;
      case "open":
        if (target.localName !== "redpoll-row") return false;
        this.open(this.row.opened === this.row.selected ? "" : this.row.selected);
        return true;
      case "close":
        return this.close();
      case "slot":
        return this.strip?.focusSlot(act.index) ?? false;
      default:
        this.doPlain(act.act);
        return true;
    }
  }

  /** Closes what was opened last; says whether anything was open. */
  private close(): boolean {
    if (this.thing !== null) this.openThing(null);
    else if (this.row.opened !== "") this.open("");
    else return false;
    return true;
  }

  /** Does what needs nothing but its name. */
  private doPlain(act: PlainAct): void {
    switch (act) {
      case "advance":
      case "back":
        this.evening.press(act);
        break;
      case "receiver":
        this.openReceiver();
        break;
      case "devices":
        this.devices?.show();
        break;
      case "waiting":
        this.waiting?.show();
        break;
      case "units":
        this.sheet?.changeUnits();
        break;
      case "acknowledge":
        void this.acknowledgeHere();
        break;
      case "retry":
        this.retry();
        break;
      case "find":
        this.heed?.find();
        break;
      case "theme":
        this.looks.changeTheme();
        break;
      case "keys":
        this.keys?.show(this.stage?.keyList);
    }
  }

  private select(channel: string): void {
    this.row.select(channel);
    this.slotMatter = "";
  }

  private open(channel: string): void {
    const before = this.row.opened;
    this.answers.forget();
    this.row.open(channel);
    if (channel === "") this.heed?.focusRow(before);
  }

  /** Opens the sheet of a device in place of the one before; null closes it. */
  private openThing(thing: OpenThing | null): void {
    this.thing = thing;
    if (thing === null) void this.updateComplete.then(() => this.heed?.focusRow(this.row.opened || this.row.selected));
  }

  private openReceiver(): void {
    const row = this.row.row(this.row.selected);
    if (row !== undefined) this.openThing({ deviceId: row.deviceId, address: row.deviceId });
  }

  private onRowSelect(event: CustomEvent<{ channel: string }>): void {
    this.select(event.detail.channel);
  }

  private onRowOpen(event: CustomEvent<{ channel: string }>): void {
    this.select(event.detail.channel);
    this.open(this.row.opened === event.detail.channel ? "" : event.detail.channel);
  }

  private onSlotSelect(event: CustomEvent<{ matterId: string }>): void {
    this.slotMatter = event.detail.matterId;
  }

  private onSlotOpen(event: CustomEvent<{ matterId: string }>): void {
    const matter = this.store?.picture?.matters.find((one) => one.matter_id === event.detail.matterId);
    const first = this.store?.rows.find((row) => matter?.rows.includes(row.channel));
    if (first === undefined) {
      if (matter !== undefined) this.openRoot(matter.root);
      return;
    }
    this.openThing(null);
    this.stages.go("heed");
    this.select(first.channel);
    void this.updateComplete.then(() => this.heed?.focusRow(first.channel));
  }

  /** A matter that touches no row is looked at where its root is. */
  private openRoot(root: string): void {
    const holder = this.store?.picture?.settings.get(root)?.controlled_through ?? root.split("/")[0] ?? "";
    if (this.store?.picture?.devices.has(holder)) this.openThing({ deviceId: holder, address: root });
  }

  private async acknowledgeHere(): Promise<void> {
    const matters = this.store?.picture?.matters ?? [];
    const here = matters.filter((one) =>
      this.slotMatter === "" ? one.rows.includes(this.row.selected) : one.matter_id === this.slotMatter,
    );
    const open = here.filter((one) => !one.acknowledged);
    this.said.say(await acknowledgeAlarms(open.flatMap((one) => one.alarms)));
  }

  private async onAcknowledge(event: CustomEvent<{ matterId: string }>): Promise<void> {
    const matter = this.store?.picture?.matters.find((one) => one.matter_id === event.detail.matterId);
    this.said.say(await acknowledgeAlarms(matter?.alarms ?? []));
  }

  private retry(deviceId = this.thing?.deviceId ?? this.row.row(this.row.selected)?.deviceId): void {
    if (this.store === null || deviceId === undefined) return;
    void tryDevice(this.store, deviceId).then((said) => this.said.say(said));
  }
}
