import type { DeviceEntry, DeviceView } from "../protocol/model";
import { clockWords } from "../pure/number_words";
import { deviceWords } from "../words/device_words";
import { sheetWords } from "../words/sheet_words";

/** One device of the panel, in words. `entry` is null for one behind a gateway, which the list doesn't name. */
export interface DeviceLine {
  readonly deviceId: string;
  readonly label: string;
  readonly kind: string;
  readonly form: string;
  readonly origin: string;
  readonly real: boolean;
  readonly contact: string;
  readonly reports: boolean;
  readonly reason: string;
  readonly seen: string;
  readonly address: string;
  readonly given: string;
  readonly mayRetry: boolean;
  readonly entry: DeviceEntry | null;
}

/** Every device that is listed or was heard, by its id. */
export function deviceLines(views: Iterable<DeviceView>, entries: readonly DeviceEntry[]): readonly DeviceLine[] {
  const seen = new Map([...views].map((view) => [view.device_id, view]));
  const listed = new Map(entries.map((entry) => [entry.device_id, entry]));
  const ids = [...new Set([...seen.keys(), ...listed.keys()])].sort();
  return ids.map((id) => line(id, seen.get(id) ?? null, listed.get(id) ?? null));
}

function line(deviceId: string, view: DeviceView | null, entry: DeviceEntry | null): DeviceLine {
  const contact = view?.contact ?? null;
  const off = entry !== null && !entry.enabled;
  const origin = view?.origin ?? "unknown";
  const state = contact === null ? "" : deviceWords.contact[contact.state];
  const reports = contact?.state === "fresh" || contact?.state === "late";
  const seen = contact?.last_seen_utc_us ?? null;
  return {
    deviceId,
    label: entry?.label ?? "",
    kind: kindWords(view?.description?.kind ?? ""),
    form: view?.description?.form ?? "",
    origin: off ? "" : deviceWords.origin[origin],
    real: origin === "real",
    contact: off ? deviceWords.switchedOff : state || deviceWords.contact.connecting,
    reports,
    reason: off ? "" : (contact?.reason ?? ""),
    seen: reports ? "" : seen === null ? deviceWords.neverSeen : deviceWords.lastSeen(clockWords(seen)),
    address: entry?.url ?? (contact?.reached_through ? deviceWords.through(contact.reached_through) : ""),
    given: entry === null ? "" : deviceWords.given[entry.given],
    mayRetry: contact !== null && ["connecting", "lost", "bad"].includes(contact.state),
    entry,
  };
}

/** A kind as people say it; one that nobody knows is shown as the device words it. */
function kindWords(kind: string): string {
  return sheetWords.kinds[kind] ?? kind;
}
