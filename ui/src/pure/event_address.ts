import type { RecordedEvent } from "../protocol/events";

/** The address that an event is about, or null where it is about the console itself. */
export function eventAddress(event: RecordedEvent): string | null {
  switch (event.kind) {
    case "alarm changed":
      return event.alarm.address;
    case "command changed":
      return event.command.target;
    case "contact changed":
      return event.contact.device_id;
    case "device described":
      return event.description.device_id;
    case "settings changed":
      return event.address;
    case "notice received":
    case "guard changed":
    case "lease changed":
      return event.device_id;
    case "retune changed":
      return event.step === null ? null : event.step.link_id;
    case "person changed":
    case "session opened":
    case "session ended":
    case "token made":
    case "token revoked":
    case "zone writer changed":
    case "journal gap":
    case "document applied":
    case "show moved":
    case "console started":
      return null;
  }
}
