import type { DeviceEntry, Discovery, Looked, Problem } from "../protocol/model";
import type { DevicePatch, DeviceRequest } from "../protocol/requests";
import { type Outcome, send } from "./request";

const ANSWER_WITHIN_MS = 8000;
const AT_MOST = 1000;

/** The list of devices with the revision that was read, which every change of it names. */
export interface ListSeen {
  readonly entries: readonly DeviceEntry[];
  readonly tag: string;
}

/** Reads the list; a console has a thousand devices at the most. */
export async function readList(): Promise<Outcome<ListSeen>> {
  try {
    const signal = AbortSignal.timeout(ANSWER_WITHIN_MS);
    const response = await fetch(`/api/v1/device-list?limit=${AT_MOST}`, { credentials: "same-origin", signal });
    const body: unknown = await response.json();
    if (!response.ok) return { ok: false, problem: body as Problem };
    const { items } = body as { items: readonly DeviceEntry[] };
    return { ok: true, value: { entries: items, tag: response.headers.get("ETag") ?? "" } };
  } catch {
    return { ok: false, problem: null };
  }
}

/** Who announces themselves now. */
export function readDiscovered(): Promise<Outcome<Discovery>> {
  return send("discovered", {});
}

/** Asks who is at an address, without adding anything. */
export function lookAt(url: string): Promise<Outcome<Looked>> {
  return send("device-list/look", json("POST", { url }));
}

/** Adds a device to the list as it was seen. */
export function addDevice(tag: string, device: Partial<DeviceRequest>): Promise<Outcome<DeviceEntry>> {
  return send("device-list/devices", json("POST", device, tag));
}

/** Changes one device of the list. */
export function changeDevice(
  tag: string,
  deviceId: string,
  patch: Partial<DevicePatch>,
): Promise<Outcome<DeviceEntry>> {
  return send(`device-list/devices/${encodeURIComponent(deviceId)}`, json("PATCH", patch, tag));
}

/** Takes one device out of the list. */
export function removeDevice(tag: string, deviceId: string): Promise<Outcome<unknown>> {
  const request = { method: "DELETE", headers: { "If-Match": tag } };
  return send(`device-list/devices/${encodeURIComponent(deviceId)}`, request);
}

/** Has a lost device called where it announces itself. */
export function moveDevice(tag: string, deviceId: string, url: string): Promise<Outcome<DeviceEntry>> {
  return send(`device-list/devices/${encodeURIComponent(deviceId)}/move`, json("POST", { url }, tag));
}

function json(method: string, body: unknown, tag = ""): RequestInit {
  const match: Record<string, string> = tag === "" ? {} : { "If-Match": tag };
  return { method, headers: { "Content-Type": "application/json", ...match }, body: JSON.stringify(body) };
}
