import type { RecordedEvent, SettingsChanged } from "../protocol/events";
import { FIELDS } from "../protocol/fields";
import type { Place } from "../protocol/model";
import { decimal, megahertz } from "../pure/number_words";
import { decimalsOf } from "../pure/step";
import { showMovedWords } from "./ahead_words";
import { words } from "./english";
import { fieldWords, specialWord } from "./field_words";

/** The kind of thing an address names. */
export function placeOf(address: string): Place {
  const parts = address.split("/");
  if (parts[0] === "pack") return "pack";
  if (parts.length === 1) return "device";
  return parts.length === 5 ? "branch" : (parts[1] as Place);
}

/** One event of the journal in a sentence. */
export function eventWords(event: RecordedEvent): string {
  switch (event.kind) {
    case "alarm changed":
      return words.events.alarm(alarmName(event.alarm.rule_id), event.alarm.state, event.by);
    case "command changed":
      return `${changes(event.command.target, event.command.changes)}: ${words.commandStates[event.command.state]}`;
    case "contact changed":
      return words.events.contact(words.contactStates[event.contact.state], event.contact.reason);
    case "device described":
      return words.events.described;
    case "settings changed":
      return `${changes(event.address, event.settings)} · ${causeWords(event)}`;
    case "notice received":
      return event.words;
    case "journal gap":
      return words.events.gap(event.missed, event.lost);
    case "document applied":
      return words.events.document(event.document);
    case "show moved":
      return showMovedWords(event);
    case "console started":
      return words.events.started;
  }
}

function causeWords(event: SettingsChanged): string {
  return Object.keys(event.before).length === 0 ? words.firstReport : words.causes[event.cause];
}

/** A value with the unit that the catalogue gives its field; radio frequencies in megahertz. */
function plainValue(place: Place, field: string, value: boolean | number | string): string {
  if (typeof value === "boolean") return value ? words.control.on : words.control.off;
  const special = specialWord(field, value);
  if (special !== null || typeof value === "string") return special ?? `${value}`;
  const unit = FIELDS.find((one) => one.place === place && one.name === field)?.unit ?? "";
  return unit === "Hz" && value >= 1e6
    ? `${megahertz(value)} MHz`
    : `${decimal(value, decimalsOf(value))} ${unit}`.trim();
}

function alarmName(ruleId: string): string {
  return ruleId.replaceAll("-", " ");
}

function changes(address: string, values: Readonly<Record<string, boolean | number | string>>): string {
  const place = placeOf(address);
  const parts = Object.entries(values).map(([field, value]) => {
    return `${fieldWords(place, { field, words: "" })} ${plainValue(place, field, value)}`;
  });
  return parts.join(", ");
}
