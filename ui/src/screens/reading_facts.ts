import type { Store } from "../data/store";
import type { SaidReading } from "../elements/readings";
import { type CatalogueField, FIELDS } from "../protocol/fields";
import type { Place } from "../protocol/model";
import { Quality } from "../protocol/quality";
import { ageWords } from "../pure/number_words";
import { isGood, type Reading } from "../pure/reading";
import { readingSaid, readingWords } from "../words/reading_words";
import { sheetWords } from "../words/sheet_words";

type Value = boolean | number | string;

export interface ReadingFacts {
  readonly readings: readonly SaidReading[];
  /** How many of the known ones were never reported. */
  readonly unreported: number;
}

/** Everything that a thing reports at `now` seconds, the catalogue's readings first, then the device's own. */
export function readingFacts(store: Store, place: Place, address: string, now: number): ReadingFacts {
  const known = FIELDS.filter((field) => field.place === place && field.job === "reading");
  const exact = store.picture?.exact.get(address) ?? {};
  const said = known.map((field) =>
    isExact(field) ? saidExact(field, exact[field.name]) : saidColumn(store, field, address, now),
  );
  const names = new Set(known.map((field) => field.name));
  const own = Object.entries(exact).filter(([name]) => !names.has(name));
  const reported = said.filter((one): one is SaidReading => one !== null);
  return {
    readings: [...reported, ...own.map(([name, value]) => saidOf({ place, name, unit: "" }, value, ""))],
    unreported: known.length - reported.length,
  };
}

/** A text reading of a thing, or undefined where it was never reported. */
export function exactText(store: Store, address: string, name: string): string | undefined {
  const value = store.picture?.exact.get(address)?.[name];
  return value === undefined ? undefined : `${value}`;
}

/** A number that a thing reports, NaN where it isn't known or can't be acted on. */
export function goodNumber(store: Store, place: Place, address: string, name: string, now: number): number {
  const reading = store.tables.reading(place, address, name, now);
  return isGood(reading) ? reading.value : Number.NaN;
}

/** A coded reading as its code, empty where it isn't known or can't be acted on. */
export function goodCode(store: Store, place: Place, address: string, name: string, now: number): string {
  const value = goodNumber(store, place, address, name, now);
  return Number.isNaN(value) ? "" : (store.tables.choices(place, name)[value] ?? "");
}

function isExact(field: CatalogueField): boolean {
  return field.kind === "text" || field.kind === "integer";
}

function saidExact(field: CatalogueField, value: Value | undefined): SaidReading | null {
  return value === undefined ? null : saidOf(field, value, "");
}

function saidColumn(store: Store, field: CatalogueField, address: string, now: number): SaidReading | null {
  const reading = store.tables.reading(field.place, address, field.name, now);
  if (reading.quality === Quality.Absent || Number.isNaN(reading.value)) return null;
  return saidOf(field, readValue(store, field, reading), doubtOf(reading));
}

function readValue(store: Store, field: CatalogueField, reading: Reading): Value {
  if (field.kind === "boolean") return reading.value === 1;
  if (field.kind !== "enum") return reading.value;
  const choices = store.tables.choices(field.place, field.name);
  return choices[reading.value] ?? field.choices[reading.value] ?? `${reading.value}`;
}

function doubtOf(reading: Reading): string {
  if (reading.quality === Quality.Bad) return sheetWords.bad;
  if (reading.quality !== Quality.Uncertain) return "";
  return Number.isFinite(reading.ageS) ? sheetWords.old(ageWords(reading.ageS)) : sheetWords.tooOld;
}

function saidOf(field: Pick<CatalogueField, "place" | "name" | "unit">, value: Value, doubt: string): SaidReading {
  const said = readingSaid(field.name, value, field.unit);
  return { name: field.name, label: readingWords(field.place, field.name), text: said.text, unit: said.unit, doubt };
}
