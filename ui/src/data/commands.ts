import type { RecordedEvent } from "../protocol/events";
import type { Command } from "../protocol/model";
import { type Outcome, post, send } from "./request";

export type { Outcome } from "./request";

type Value = boolean | number | string;

/** The path of a thing under /api/v1: `quay-1/carrier/1/branch/a` is `devices/quay-1/carriers/1/branches/a`. */
export function thingPath(address: string): string {
  const parts = address.split("/").map(encodeURIComponent);
  if (parts[0] === "pack") return `packs/${parts[1]}`;
  const below = parts
    .slice(1)
    .map((part, index) => (index % 2 === 1 ? part : part === "branch" ? "branches" : `${part}s`));
  return ["devices", parts[0], ...below].join("/");
}

/** The path of the settings of an address, under /api/v1. */
export function settingsPath(address: string): string {
  return `${thingPath(address)}/settings`;
}

/** Asks for settings to change; `revision` is the one that was seen. The change shows when the device reports it. */
export function changeSettings(
  address: string,
  revision: string,
  changes: Readonly<Record<string, Value>>,
  commandId: string,
): Promise<Outcome<Command>> {
  const headers = {
    "Content-Type": "application/merge-patch+json",
    "If-Match": `"${revision}"`,
    "Command-Id": commandId,
  };
  return send(settingsPath(address), { method: "PATCH", headers, body: JSON.stringify(changes) });
}

/** Gives up a command that isn't over. */
export function cancelCommand(commandId: string): Promise<Outcome<Command>> {
  return post(`commands/${encodeURIComponent(commandId)}/cancel`, {});
}

/** Closes a command whose outcome nothing can tell. */
export function closeCommand(commandId: string, reason: string): Promise<Outcome<Command>> {
  return post(`commands/${encodeURIComponent(commandId)}/close`, { reason });
}

/** Acknowledges alarms. */
export function acknowledge(alarmIds: readonly string[]): Promise<Outcome<unknown>> {
  return post("alarms/acknowledge", { alarm_ids: alarmIds });
}

/** Asks the console to try a lost device at once. */
export function retryDevice(deviceId: string): Promise<Outcome<unknown>> {
  return post(`devices/${encodeURIComponent(deviceId)}/retry`, {});
}

/** Moves the show clock a step; `revision` is the place that was seen, so that two hands never move twice. */
export function stepShow(step: "advance" | "back", revision: number): Promise<Outcome<unknown>> {
  const headers = { "Content-Type": "application/json", "If-Match": `"${revision}"` };
  return send("show/step", { method: "POST", headers, body: JSON.stringify({ step }) });
}

/** So far back in the journal the events of a row are looked for. */
const EVENTS_BACK = 2000;
const EVENTS_A_PAGE = 500;
const PAGES_AT_MOST = 5;

/** The latest events of an address and of what hangs on it, oldest first; `sequence` is that of the last event known. */
export async function journalOf(address: string, sequence: number): Promise<Outcome<readonly RecordedEvent[]>> {
  const events: RecordedEvent[] = [];
  let since: string | null = `${Math.max(sequence - EVENTS_BACK, 0)}`;
  for (let page = 0; page < PAGES_AT_MOST && since !== null; page += 1) {
    const query = new URLSearchParams({ address, since, limit: `${EVENTS_A_PAGE}` });
    const answer: Outcome<Page<RecordedEvent>> = await send(`journal?${query}`, {});
    if (!answer.ok) return answer;
    events.push(...answer.value.items);
    since = answer.value.next;
  }
  return { ok: true, value: events };
}

interface Page<T> {
  readonly items: readonly T[];
  readonly next: string | null;
}
