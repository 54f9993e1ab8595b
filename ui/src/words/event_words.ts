import type { RecordedEvent } from "../protocol/events";
import type { Place } from "../protocol/model";
import { words } from "./english";
import { fieldWords } from "./field_words";

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
      return `${changes(event.address, event.settings)} ${words.causes[event.cause]}`;
    case "notice received":
      return event.words;
    case "journal gap":
      return words.events.gap(event.missed, event.lost);
    case "document applied":
      return words.events.document(event.document);
    case "console started":
      return words.events.started;
  }
}

function alarmName(ruleId: string): string {
  return ruleId.replaceAll("-", " ");
}

function changes(address: string, values: Readonly<Record<string, boolean | number | string>>): string {
  const place = placeOf(address);
  const parts = Object.entries(values).map(([field, value]) => {
    const shown = typeof value === "boolean" ? (value ? words.control.on : words.control.off) : value;
    return `${fieldWords(place, { field, words: "" })} ${shown}`;
  });
  return parts.join(", ");
}
