import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { type FileCircumstances, keepFile } from "../data/surveys";
import { formStyles } from "../elements/form_styles";
import { decimal } from "../pure/number_words";
import { scoutWords } from "../words/scout_words";
import { requestProblem } from "./acts";

const { take } = scoutWords;

/** Keeps a file of frequencies and levels as a scan. Event: `redpoll-scan-kept` (scanId, place). */
@customElement("redpoll-scout-file")
export class RedpollScoutFile extends LitElement {
  static override styles = [
    formStyles,
    css`
      :host { display: block; padding: 8px 14px 12px; }
      input[type="file"] { padding: 6px; width: 100%; }
    `,
  ];

  /** A file that was dropped; one chosen by the field replaces it. */
  @property({ attribute: false }) file: File | null = null;
  /** Why nobody may keep one here, or empty. */
  @property() locked = "";
  @state() private place = "";
  @state() private busy = false;
  @state() private problem = "";
  @query("#place") private readonly placeField?: HTMLInputElement;
  @query("#instrument") private readonly instrument?: HTMLInputElement;
  @query("#taken") private readonly taken?: HTMLInputElement;

  override render() {
    if (this.locked !== "") return html`<p class="soft">${this.locked}</p>`;
    const { file } = this;
    return html`<form @submit=${this.keep}>
      <label for="file">${take.choose}<input id="file" type="file" accept=".csv,.txt,.tsv,text/csv,text/plain" @change=${this.choose}></label>
      <p class="soft">${file === null ? take.fileHint : take.chosen(file.name, sizeWords(file.size))}</p>
      <label for="place">${take.where}<input id="place" maxlength="80" autocomplete="off" placeholder=${take.whereHint} .value=${this.place} @input=${this.setPlace}></label>
      <div class="two">
        <label for="instrument">${take.instrument}<input id="instrument" maxlength="80" autocomplete="off" placeholder=${take.instrumentHint}></label>
        <label for="taken" title=${take.takenAtHint}>${take.takenAt}<input id="taken" type="datetime-local" required></label>
      </div>
      <button ?disabled=${this.busy || file === null || this.place.trim() === ""}>${take.keepFile}</button>
      ${this.busy ? html`<p role="status">${take.reading}</p>` : nothing}
      <p class="problem" role="alert">${this.problem}</p>
    </form>`;
  }

  /** Puts the cursor where the place is typed. */
  focusPlace(): void {
    this.placeField?.focus();
  }

  override willUpdate() {
    if (this.file !== null && this.taken !== undefined && this.taken.value === "")
      this.taken.value = localTime(this.file.lastModified);
  }

  private choose(event: Event): void {
    this.file = (event.target as HTMLInputElement).files?.[0] ?? null;
    this.problem = "";
  }

  private setPlace(event: Event): void {
    this.place = (event.target as HTMLInputElement).value;
  }

  private async keep(event: Event): Promise<void> {
    event.preventDefault();
    const { file } = this;
    if (file === null || this.busy) return;
    const about: FileCircumstances = {
      place: this.place.trim(),
      instrument: this.instrument?.value.trim() ?? "",
      takenAt: isoTime(this.taken?.value ?? ""),
    };
    this.busy = true;
    const answer = await keepFile(file, about, file.name);
    this.busy = false;
    this.problem = answer.ok ? "" : take.failed(requestProblem(answer));
    if (!answer.ok) return;
    this.file = null;
    const detail = { scanId: answer.value.scan_id, place: about.place };
    this.dispatchEvent(new CustomEvent("redpoll-scan-kept", { detail, bubbles: true, composed: true }));
  }
}

/** A moment as the field for a date and time takes it, in the zone of this machine. */
function localTime(milliseconds: number): string {
  const moment = new Date(milliseconds);
  return new Date(milliseconds - moment.getTimezoneOffset() * 60_000).toISOString().slice(0, 16);
}

function isoTime(local: string): string {
  return local === "" ? "" : new Date(local).toISOString();
}

function sizeWords(bytes: number): string {
  return bytes < 1e6 ? `${decimal(bytes / 1e3, 0)} kB` : `${decimal(bytes / 1e6, 1)} MB`;
}
