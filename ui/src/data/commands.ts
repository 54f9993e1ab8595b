import type { RecordedEvent } from "../protocol/events";
import type { Command, Problem } from "../protocol/model";

const ANSWER_WITHIN_MS = 10_000;

type Value = boolean | number | string;

/** What became of a request: what it answered, or the problem in the console's words. */
export type Outcome<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problem: Problem | null };

/** The path of the settings of an address, under /api/v1. */
export function settingsPath(address: string): string {
  const parts = address.split("/").map(encodeURIComponent);
  if (parts[0] === "pack") return `packs/${parts[1]}/settings`;
  if (parts.length === 1) return `devices/${parts[0]}/settings`;
  return `devices/${parts[0]}/${parts[1]}s/${parts[2]}/settings`;
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

function post<T>(path: string, body: object): Promise<Outcome<T>> {
  return send(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
}

async function send<T>(path: string, request: RequestInit): Promise<Outcome<T>> {
  try {
    const signal = AbortSignal.timeout(ANSWER_WITHIN_MS);
    const response = await fetch(`/api/v1/${path}`, { ...request, credentials: "same-origin", signal });
    const body: unknown = response.status === 204 ? null : await response.json();
    return response.ok ? { ok: true, value: body as T } : { ok: false, problem: body as Problem };
  } catch {
    return { ok: false, problem: null };
  }
}
