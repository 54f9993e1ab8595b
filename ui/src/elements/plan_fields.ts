import { html } from "lit";
import { chartWords } from "../words/chart_words";

/** Fields of a plan's form: each gives its value when it is left or entered. */

export type Change<T> = { readonly [Key in keyof T]?: T[Key] };

/** A number in a unit; `unit` is what one of it is in what is kept. */
export function numberField(label: string, value: number | null, unit: number, put: (value: number) => void) {
  const onChange = (event: Event) => {
    const field = event.target as HTMLInputElement;
    const entered = field.valueAsNumber;
    if (Number.isFinite(entered) || value === null) put(Math.round(entered * unit));
    else field.value = `${value / unit}`;
  };
  return html`<label>${label}<input class="number" type="number" step="any" .value=${value === null ? "" : `${value / unit}`} @change=${onChange} /></label>`;
}

export function textField(label: string, value: string, put: (value: string) => void) {
  const onChange = (event: Event) => put((event.target as HTMLInputElement).value.trim());
  return html`<label>${label}<input maxlength="64" autocomplete="off" .value=${value} @change=${onChange} /></label>`;
}

export function removeButton(what: string, act: () => void) {
  return html`<button class="remove" aria-label=${chartWords.ask.remove(what)} @click=${act}>×</button>`;
}

/** A list with one entry changed. */
export function replaced<T>(list: readonly T[], index: number, change: Change<T>): T[] {
  return list.map((one, at) => (at === index ? { ...one, ...change } : one));
}

/** A list without one entry. */
export function without<T>(list: readonly T[], index: number): T[] {
  return list.filter((_, at) => at !== index);
}
