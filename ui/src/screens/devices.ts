import { html, LitElement, nothing } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { repeat } from "lit/directives/repeat.js";
import {
  addDevice,
  changeDevice,
  type ListSeen,
  lookAt,
  moveDevice,
  readDiscovered,
  readList,
  removeDevice,
} from "../data/device_list";
import type { Outcome } from "../data/request";
import type { Store } from "../data/store";
import type { Discovered, Discovery, Expects, Looked, LookedDevice } from "../protocol/model";
import { deviceWords } from "../words/device_words";
import { requestProblem, tryDevice } from "./acts";
import { type DeviceLine, deviceLines } from "./device_lines";
import { devicesStyles } from "./devices_styles";
import "../elements/hold";

const READ_AGAIN_MS = 2000;
const EXPECTS: readonly Expects[] = ["either", "real", "simulated"];

/**
 * The panel of devices: every one with its contact and address, who announces themselves, and adding by address.
 *
 * Event: `redpoll-thing-open` (deviceId, address). Escape closes it.
 */
@customElement("redpoll-devices")
export class RedpollDevices extends LitElement {
  static override styles = devicesStyles;

  @property({ attribute: false }) store: Store | null = null;
  @state() private list: ListSeen | null = null;
  @state() private discovery: Discovery | null = null;
  @state() private looked: Looked | null = null;
  @state() private looking = false;
  @state() private said = "";
  @state() private unfolded = "";
  @query("dialog") private readonly dialog?: HTMLDialogElement;
  @query("#address") private readonly address?: HTMLInputElement;
  @query("#expects") private readonly expects?: HTMLSelectElement;
  private timer: ReturnType<typeof setInterval> | undefined;

  get shown(): boolean {
    return this.dialog?.open ?? false;
  }

  show(): void {
    if (this.shown) return;
    this.dialog?.showModal();
    void this.read();
    this.timer = setInterval(() => void this.read(), READ_AGAIN_MS);
  }

  hide(): void {
    this.dialog?.close();
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    clearInterval(this.timer);
  }

  override render() {
    const lines = deviceLines(this.store?.picture?.devices.values() ?? [], this.list?.entries ?? []);
    return html`<dialog aria-labelledby="title" @keydown=${this.onKeyDown} @close=${this.onClosed}>
      <div class="head"><h2 id="title">${deviceWords.title(lines.length)}</h2><button @click=${this.hide}>${deviceWords.close}</button></div>
      <div class="body">
        <ul>${repeat(
          lines,
          (line) => line.deviceId,
          (line) => this.renderLine(line),
        )}</ul>
        ${this.renderAdd()} ${this.renderDiscovery()}
      </div>
      <p class="said" role="status">${this.said}</p>
    </dialog>`;
  }

  private renderLine(line: DeviceLine) {
    const open = this.unfolded === line.deviceId;
    return html`<li data-device=${line.deviceId}>
      <div class="line">
        <div><strong>${line.label || line.deviceId}</strong><span class="soft">${line.label === "" ? nothing : line.deviceId} ${line.kind}${line.form === "" ? nothing : html` · ${line.form}`}</span></div>
        <div><span class=${line.reports ? "" : "silent"}>${line.contact}</span> ${line.origin === "" ? nothing : html`<span class="mark ${line.real ? "real" : ""}">${line.origin}</span>`}<span class="soft">${line.seen}</span></div>
        <div>${line.address}<span class="soft">${line.reason || line.given}</span></div>
        <div class="acts">
          <button @click=${() => this.open(line.deviceId)} ?disabled=${line.kind === ""}>${deviceWords.sheet}</button>
          ${line.mayRetry ? html`<button @click=${() => this.retry(line.deviceId)}>${deviceWords.retry}</button>` : nothing}
          ${line.entry === null ? nothing : html`<button aria-expanded=${open} @click=${() => this.unfold(line.deviceId)}>${open ? deviceWords.less : deviceWords.more}</button>`}
        </div>
      </div>
      ${open ? this.renderMore(line) : nothing}
    </li>`;
  }

  private renderMore(line: DeviceLine) {
    const { entry } = line;
    if (entry === null) return nothing;
    const name = line.label || line.deviceId;
    return html`<div class="more acts">
      ${
        entry.enabled
          ? html`<redpoll-hold .label=${deviceWords.switchOff(name)} @redpoll-held=${() => this.edit((tag) => changeDevice(tag, line.deviceId, { enabled: false }))}></redpoll-hold>`
          : html`<button @click=${() => this.edit((tag) => changeDevice(tag, line.deviceId, { enabled: true }))}>${deviceWords.switchOn}</button>`
      }
      ${entry.given === "start-up" ? nothing : html`<redpoll-hold .label=${deviceWords.remove(name)} @redpoll-held=${() => this.edit((tag) => removeDevice(tag, line.deviceId))}></redpoll-hold>`}
    </div>`;
  }

  private renderAdd() {
    return html`<h3>${deviceWords.addTitle}</h3>
      <form @submit=${this.onLook}>
        <label class="wide" for="address">${deviceWords.address}<input id="address" name="address" required autocomplete="off" spellcheck="false" placeholder=${deviceWords.addressHint}></label>
        <label for="expects">${deviceWords.expects}<select id="expects">${EXPECTS.map((one) => html`<option value=${one}>${deviceWords.expectsWords[one]}</option>`)}</select></label>
        <button ?disabled=${this.looking}>${deviceWords.look}</button>
      </form>
      <div role="status">${this.looking ? html`<p>${deviceWords.looking}</p>` : this.renderLooked()}</div>`;
  }

  private renderLooked() {
    const { looked } = this;
    if (looked === null) return nothing;
    if (looked.devices.length === 0) return html`<p>${deviceWords.nobody(looked.reason)}</p>`;
    return html`<p>${deviceWords.found(looked.devices.length, looked.version)} ${looked.reason}</p>
      <ul>${looked.devices.map((device) => this.renderFound(looked, device))}</ul>`;
  }

  private renderFound(looked: Looked, device: LookedDevice) {
    const facts = [device.kind, device.form, deviceWords.channels(device.channels)];
    if (device.read_only) facts.push(deviceWords.readOnly);
    const add = () => this.add(looked.url, device.device_id);
    return html`<li class="line">
      <strong>${device.device_id}</strong>
      <span class="mark ${device.simulated ? "" : "real"}">${deviceWords.origin[device.simulated ? "simulated" : "real"]}</span>
      <span>${facts.filter((fact) => fact !== "").join(" · ")}</span>
      ${device.listed_at === "" ? html`<button @click=${add}>${deviceWords.add(device.device_id)}</button>` : html`<span>${deviceWords.listedAt(device.listed_at)}</span>`}
    </li>`;
  }

  private renderDiscovery() {
    const { discovery } = this;
    if (discovery === null) return nothing;
    const shown = discovery.devices.filter((found) => found.standing !== "listed");
    return html`<h3>${deviceWords.discoveredTitle}</h3>
      ${discovery.on ? nothing : html`<p class="soft">${deviceWords.discoveredOff(discovery.reason)}</p>`}
      ${discovery.on && shown.length === 0 ? html`<p class="soft">${deviceWords.discoveredNone}</p>` : nothing}
      <ul>${shown.map((found) => this.renderAnnounced(found))}</ul>
      ${discovery.left_out === 0 ? nothing : html`<p>${deviceWords.leftOut(discovery.left_out)}</p>`}`;
  }

  private renderAnnounced(found: Discovered) {
    const { announced } = found;
    const id = announced.device_id;
    return html`<li class="line">
      <div><strong>${announced.name}</strong><span class="soft">${id === "" ? deviceWords.nameless : `${deviceWords.claims} ${id}`} ${announced.kind}</span></div>
      <div>${deviceWords.standing[found.standing]}<span class="soft">${found.reason}</span></div>
      <div>${found.url || announced.urls[0]}</div>
      <div class="acts">
        ${found.standing === "moved" ? html`<redpoll-hold .label=${deviceWords.move(id)} @redpoll-held=${() => this.edit((tag) => moveDevice(tag, id, found.url))}></redpoll-hold>` : nothing}
        ${found.standing === "new" ? html`<button @click=${() => this.look(found.url)}>${deviceWords.look}</button>` : nothing}
      </div>
    </li>`;
  }

  /** The keys of the watch mean nothing here. */
  private onKeyDown(event: KeyboardEvent): void {
    if (event.key !== "Escape") event.stopPropagation();
  }

  private onClosed(): void {
    clearInterval(this.timer);
    this.said = "";
    this.looked = null;
  }

  private unfold(deviceId: string): void {
    this.unfolded = this.unfolded === deviceId ? "" : deviceId;
  }

  private open(deviceId: string): void {
    this.hide();
    const detail = { deviceId, address: deviceId };
    this.dispatchEvent(new CustomEvent("redpoll-thing-open", { detail, bubbles: true, composed: true }));
  }

  private retry(deviceId: string): void {
    if (this.store !== null) void tryDevice(this.store, deviceId).then((said) => this.say(said));
  }

  private async read(): Promise<void> {
    const [list, discovery] = await Promise.all([readList(), readDiscovered()]);
    if (list.ok) this.list = list.value;
    if (discovery.ok) this.discovery = discovery.value;
    if (!list.ok) this.say(requestProblem(list));
  }

  private onLook(event: Event): void {
    event.preventDefault();
    void this.look(this.address?.value.trim() ?? "");
  }

  private async look(url: string): Promise<void> {
    if (this.address !== undefined) this.address.value = url;
    this.looking = true;
    this.looked = null;
    const answer = await lookAt(url);
    this.looking = false;
    if (answer.ok) this.looked = answer.value;
    this.say(answer.ok ? "" : deviceWords.failed(requestProblem(answer)));
  }

  private async add(url: string, deviceId: string): Promise<void> {
    const expects = (this.expects?.value ?? "either") as Expects;
    await this.edit((tag) => addDevice(tag, { device_id: deviceId, url, expects }));
    this.looked = null;
  }

  /** Changes the list as it was seen; where somebody was faster it is read again, and nothing is done. */
  private async edit(change: (tag: string) => Promise<Outcome<unknown>>): Promise<void> {
    const answer = await change(this.list?.tag ?? "");
    const stale = !answer.ok && answer.problem?.status === 412;
    this.say(answer.ok ? deviceWords.done : deviceWords.failed(stale ? deviceWords.stale : requestProblem(answer)));
    await this.read();
  }

  private say(said: string): void {
    this.said = said;
  }
}
