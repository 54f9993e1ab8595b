import type { GuardChanged, RecordedEvent, SettingsChanged } from "../protocol/events";
import { FIELDS } from "../protocol/fields";
import type { Command, Lease, Place } from "../protocol/model";
import { clockWords, decimal, megahertz } from "../pure/number_words";
import { decimalsOf } from "../pure/step";
import { actWords } from "./act_words";
import { showMovedWords } from "./ahead_words";
import { words } from "./english";
import { fieldWords, specialWord } from "./field_words";
import { isPeopleEvent, peopleEventWords } from "./people_words";
import { retuneEventWords } from "./retune_words";
import { sheetWords } from "./sheet_words";

/** The kind of thing an address names. */
export function placeOf(address: string): Place {
  const parts = address.split("/");
  if (parts[0] === "pack") return "pack";
  if (parts.length === 1) return "device";
  return parts.length === 5 ? "branch" : (parts[1] as Place);
}

/** One event of the journal in a sentence. */
export function eventWords(event: RecordedEvent): string {
  if (isPeopleEvent(event)) return peopleEventWords(event);
  switch (event.kind) {
    case "alarm changed":
      return words.events.alarm(alarmName(event.alarm.rule_id), event.alarm.state, event.by);
    case "command changed":
      return commandWords(event.command);
    case "contact changed":
      return words.events.contact(words.contactStates[event.contact.state], event.contact.reason);
    case "device described":
      return words.events.described;
    case "settings changed":
      return `${changes(event.address, event.settings)} · ${causeWords(event)}`;
    case "guard changed":
      return guardWords(event);
    case "lease changed":
      return leaseWords(event.lease);
    case "notice received":
      return event.words;
    case "journal gap":
      return words.events.gap(event.missed, event.lost);
    case "document applied":
      return words.events.document(event.document);
    case "show moved":
      return showMovedWords(event);
    case "retune changed":
      return retuneEventWords(event);
    case "console started":
      return words.events.started;
  }
}

function commandWords(command: Command): string {
  const state = words.commandStates[command.state];
  if (command.act === "") return `${changes(command.target, command.changes)}: ${state}`;
  const told = changes(command.target, command.changes);
  return `${actWords({ act: command.act, words: "" })}${told === "" ? "" : `, ${told}`}: ${state}`;
}

function guardWords({ unlocked, by }: GuardChanged): string {
  if (unlocked === null) return by === "" ? sheetWords.guard.lockedAgain : sheetWords.guard.lockedBy(by);
  return sheetWords.guard.unlockedBy(unlocked.by, unlocked.reason, clockWords(unlocked.until_utc_us));
}

function leaseWords(lease: Lease | null): string {
  if (lease === null) return sheetWords.lease.none;
  if (lease.ours) return sheetWords.lease.ours;
  return lease.holder === "" ? sheetWords.lease.nobody : sheetWords.lease.other(lease.holder);
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
