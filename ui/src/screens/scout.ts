import { html, LitElement, nothing, type PropertyValues } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import type { Picture } from "../data/picture";
import type { Store } from "../data/store";
import { NO_TRACES, NOTHING_BESIDE, type RedpollSpectrum } from "../elements/spectrum";
import { firstRequest } from "../pure/first_request";
import type { PlanExclusion } from "../pure/plan_request";
import type { Span } from "../pure/spectrum";
import { words } from "../words/english";
import { scoutWords } from "../words/scout_words";
import { notKeptOut } from "./scout_facts";
import type { RedpollScoutFile } from "./scout_file";
import { changeFindings, findingsOf } from "./scout_findings";
import { KeptOut } from "./scout_keep_out";
import { lineOf } from "./scout_lines";
import { type ScanAsked, ScanRun } from "./scout_run";
import { scannersOf } from "./scout_scanners";
import { scoutStyles } from "./scout_styles";
import { Survey } from "./scout_survey";
import type { RedpollScoutTake } from "./scout_take";
import { renderRoom, renderTitle } from "./scout_title";
import { ScoutView } from "./scout_view";
import type { StageScreen } from "./stages";
import "../elements/findings";
import "../elements/keep_out";
import "../elements/scans";
import "../elements/spectrum";
import "./scout_file";
import "./scout_take";

const WORDS_MS = 1000;
type Form = "receiver" | "file" | "none";

/** The survey of the spectrum: what is in the air here, how old that is, where there is room, what is kept out of. */
@customElement("redpoll-scout")
export class RedpollScout extends LitElement implements StageScreen {
  static override styles = scoutStyles;

  @property({ attribute: false }) store: Store | null = null;
  @property({ attribute: false }) picture: Picture | null = null;
  readonly keyList = scoutWords.keys;
  @state() private form: Form = "none";
  @state() private dropping = false;
  @query("redpoll-spectrum") private readonly spectrum?: RedpollSpectrum;
  @query("redpoll-scout-take") private readonly take?: RedpollScoutTake;
  @query("redpoll-scout-file") private readonly file?: RedpollScoutFile;
  private readonly survey = new Survey(this);
  private readonly keptOut = new KeptOut(this);
  private readonly run = new ScanRun(this, (scanId, place) => this.onKept(scanId, place));
  private readonly view = new ScoutView();
  private timer: ReturnType<typeof setInterval> | undefined;

  override connectedCallback() {
    super.connectedCallback();
    this.timer = setInterval(() => this.requestUpdate(), WORDS_MS);
    this.addEventListener("dragover", this.onDragOver);
    this.addEventListener("dragleave", this.onDragEnd);
    this.addEventListener("drop", this.onDrop);
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearInterval(this.timer);
  }

  override willUpdate(_changed: PropertyValues<this>) {
    if (this.picture !== null) this.run.follow(this.picture);
    this.toggleAttribute("forming", this.forming);
    this.view.take(this.survey, this.keptOut, {
      picture: this.picture,
      rows: this.store?.rows ?? [],
      nowUtcUs: this.now,
    });
  }

  override render() {
    return html`${this.survey.scan === null && this.run.asked === null ? this.renderEmpty() : this.renderSpectrum()}
      <div class="columns">${this.renderScans()}${this.renderFound()}${this.renderKeptOut()}</div>
      <footer>${scoutWords.caution}</footer>
      ${this.dropping ? html`<div class="drop">${scoutWords.take.drop}</div>` : nothing}`;
  }

  press(event: KeyboardEvent): boolean {
    if (this.spectrum?.press(event)) return true;
    switch (event.key) {
      case "j":
      case "k":
        this.survey.move(event.key === "j" ? 1 : -1);
        return true;
      case "c":
        this.survey.holdBefore();
        return true;
      case "n":
      case "f":
        this.openForm(event.key === "n" ? "receiver" : "file");
        return true;
      case "x":
        void this.keepOutTaken();
        return true;
      case "Escape":
        if (this.form === "none") return false;
        this.form = "none";
        return true;
      default:
        return false;
    }
  }

  recolour(): void {
    this.spectrum?.recolour();
  }

  private renderEmpty() {
    const { survey } = this;
    if (survey.problem !== "") return html`<div></div><p class="empty problem" role="alert">${survey.problem}</p>`;
    if (!survey.read || survey.list.length > 0)
      return html`<div></div><p class="empty soft">${scoutWords.notLoaded}</p>`;
    return html`<div></div><div class="empty"><h2>${scoutWords.empty.title}</h2><p>${scoutWords.empty.advice}</p></div>`;
  }

  private renderSpectrum() {
    const { run, view, survey } = this;
    const running = run.asked;
    const traces = running === null ? view.traces : { ...NO_TRACES, maximum: run.found };
    const beside =
      running === null ? view.beside : { ...NOTHING_BESIDE, blocks: view.beside.blocks, own: [], room: [] };
    return html`<div class="title">${running === null ? renderTitle(survey, view, this.now) : html`<h2>${running.place}</h2>`}</div>
      <redpoll-spectrum .traces=${traces} .beside=${beside} .span=${running?.span ?? null} .rasterHz=${this.keptOut.rasterHz}
        ?paintable=${running === null && this.mayWrite && this.keptOut.plan !== null}
        @redpoll-keep-out=${(event: CustomEvent<Span>) => this.keepOut(event.detail, scoutWords.keep.painted)}
        @redpoll-let-in=${(event: CustomEvent<{ hertz: number }>) => this.letInAt(event.detail.hertz)}>${running === null && survey.found !== null ? renderRoom(view) : nothing}</redpoll-spectrum>`;
  }

  private renderScans() {
    const { survey, form } = this;
    const lines = survey.list.map((one) => lineOf(one, this.now));
    return html`<section class="scans" aria-label=${scoutWords.scans.title}>
      <div class="head"><h3>${scoutWords.scans.title}</h3>
        <button aria-expanded=${form === "receiver"} @click=${() => this.openForm("receiver")}>${scoutWords.take.byReceiver}</button>
        <button aria-expanded=${form === "file"} @click=${() => this.openForm("file")}>${scoutWords.take.byFile}</button></div>
      <div class="body" @keydown=${this.onFormKey}>
        ${
          this.forming
            ? this.renderForm()
            : html`<redpoll-scans .lines=${lines} .shown=${survey.chosen} .held=${survey.held}
          @redpoll-scan-look=${(event: CustomEvent<{ scanId: string }>) => survey.choose(event.detail.scanId)}
          @redpoll-scan-hold=${(event: CustomEvent<{ scanId: string }>) => survey.hold(event.detail.scanId)}></redpoll-scans>`
        }
      </div></section>`;
  }

  private renderForm() {
    const locked = this.mayWrite ? "" : words.control.notAllowed("engineer");
    if (this.form === "receiver" || this.run.asked !== null) {
      const scanners = this.picture === null ? [] : scannersOf(this.picture, this.store?.rows ?? []);
      return html`<redpoll-scout-take .scanners=${scanners} .run=${this.run} .at=${this.now} .last=${this.view.scanned} .locked=${locked}
        @redpoll-scan-begin=${(event: CustomEvent<ScanAsked>) => this.run.begin(event.detail)}></redpoll-scout-take>`;
    }
    return html`<redpoll-scout-file .locked=${locked}
      @redpoll-scan-kept=${(event: CustomEvent<{ scanId: string; place: string }>) => this.onKept(event.detail.scanId, event.detail.place)}></redpoll-scout-file>`;
  }

  private renderFound() {
    const { survey } = this;
    const { found: said } = scoutWords;
    const changed = survey.comparison === null ? null : changeFindings(survey.comparison);
    const there = survey.found === null ? null : findingsOf(survey.found);
    const shown = changed ?? there;
    return html`<section aria-label=${said.title}>
      <div class="head"><h3>${changed === null ? said.title : this.view.changedWords(survey)}</h3>
${this.renderRegions()}</div>
      <div class="body" tabindex="0">${survey.foundProblem === "" ? nothing : html`<p class="problem">${said.failed(survey.foundProblem)}</p>`}
        ${
          shown === null
            ? html`<p class="soft">${survey.chosen === "" || survey.foundProblem !== "" ? "" : said.wait}</p>`
            : html`<redpoll-findings .sentences=${shown.sentences} .lines=${shown.lines} .more=${shown.more}
              @redpoll-stretch-look=${this.onLook}></redpoll-findings>`
        }<p class="soft source">${this.view.sourceWords(survey)}</p></div></section>`;
  }

  private renderRegions() {
    const { survey } = this;
    if (survey.regions.length === 0) return nothing;
    const shown = this.view.region(survey)?.name;
    const choose = (event: Event) => survey.setRegion((event.target as HTMLSelectElement).value);
    return html`<label class="soft" for="region">${scoutWords.region.label}</label>
      <select id="region" @change=${choose}>${survey.regions.map((one) => html`<option value=${one.name} ?selected=${one.name === shown}>${one.words}</option>`)}</select>`;
  }

  private renderKeptOut() {
    const { keptOut } = this;
    const { keep } = scoutWords;
    const add = (event: CustomEvent<Span & { words: string }>) => this.keepOut(event.detail, event.detail.words);
    return html`<section aria-label=${keep.title}>
      <div class="head"><h3>${keep.title}</h3></div>
      <div class="body"><redpoll-keep-out .plans=${keptOut.plans} .chosen=${keptOut.name} .exclusions=${keptOut.exclusions}
        .taken=${notKeptOut(this.survey.found, keptOut.exclusions).length} .ownTaken=${this.view.beside.own.some((one) => one.heard)} .standing=${keptOut.state} .allowed=${this.mayWrite}
        .suggested=${this.view.scanned === null ? "" : this.picture?.production.name || scoutWords.keep.untitled}
        @redpoll-plan-begin=${(event: CustomEvent<{ title: string }>) => this.beginPlan(event.detail.title)}
        @redpoll-plan-choose=${(event: CustomEvent<{ name: string }>) => keptOut.choose(event.detail.name)}
        @redpoll-keep-out=${add} @redpoll-keep-out-taken=${() => this.keepOutTaken()} @redpoll-stretch-look=${this.onLook}
        @redpoll-let-in-at=${(event: CustomEvent<{ index: number }>) => keptOut.remove(event.detail.index)}></redpoll-keep-out></div></section>`;
  }

  private get forming(): boolean {
    return this.form !== "none" || this.run.asked !== null;
  }

  private get mayWrite(): boolean {
    return this.picture?.person.roles.includes("engineer") ?? false;
  }

  /** UTC microseconds on the console's clock. */
  private get now(): number {
    const clock = this.store?.clock;
    return clock?.begun ? clock.utcUs(clock.seconds(performance.now())) : 0;
  }

  private openForm(form: Form): void {
    this.form = this.form === form ? "none" : form;
    void this.updateComplete
      .then(() => (this.take ?? this.file)?.updateComplete)
      .then(() => (this.take ?? this.file)?.focusPlace());
  }

  /** Escape closes a form even while somebody types in it. */
  private onFormKey(event: KeyboardEvent): void {
    if (event.key !== "Escape" || this.form === "none") return;
    event.stopPropagation();
    this.form = "none";
  }

  private onKept(scanId: string, place: string): void {
    this.form = "none";
    this.say(scoutWords.take.kept(place));
    void this.survey.readList().then(() => this.survey.choose(scanId));
  }

  private onLook(event: CustomEvent<Span>): void {
    this.spectrum?.show(event.detail);
  }

  private async keepOut({ fromHz, toHz }: Span, why: string): Promise<void> {
    this.say(await this.keptOut.add([{ start_hz: fromHz, stop_hz: toHz, words: why }]));
  }

  private async beginPlan(title: string): Promise<void> {
    const within = this.view.scanned;
    if (within === null) return;
    const request = firstRequest(this.picture?.production.positions ?? [], within, scoutWords.keep.elsewhere);
    this.say(await this.keptOut.begin(title, request));
  }

  private async keepOutTaken(): Promise<void> {
    const left: readonly PlanExclusion[] = notKeptOut(this.survey.found, this.keptOut.exclusions);
    if (!this.mayWrite) this.say(scoutWords.keep.noEngineer);
    else if (left.length === 0) this.say(scoutWords.keep.takenNone);
    else this.say(await this.keptOut.add(left));
  }

  private async letInAt(hertz: number): Promise<void> {
    const index = this.keptOut.exclusions.findIndex((one) => one.start_hz <= hertz && hertz <= one.stop_hz);
    this.say(index === -1 ? scoutWords.keep.nothingThere : await this.keptOut.remove(index));
  }

  private say(detail: string): void {
    this.dispatchEvent(new CustomEvent("redpoll-said", { detail, bubbles: true, composed: true }));
  }

  private onDragOver(event: DragEvent): void {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    this.dropping = true;
  }

  private onDragEnd(): void {
    this.dropping = false;
  }

  private async onDrop(event: DragEvent): Promise<void> {
    event.preventDefault();
    this.dropping = false;
    const file = event.dataTransfer?.files[0];
    if (file === undefined) return;
    if (this.form !== "file") this.openForm("file");
    await this.updateComplete;
    if (this.file !== undefined && this.file !== null) this.file.file = file;
  }
}
