import type { Command, DeviceView } from "../protocol/model";
import type { Stretch } from "../pure/spectrum";
import { thingPath } from "./commands";
import { type Outcome, post, send } from "./request";

type Value = boolean | number | string;

/** Asks for an act. Secret arguments leave by this request and are kept nowhere. */
export function askAct(
  address: string,
  act: string,
  values: Readonly<Record<string, Value>>,
  commandId: string,
): Promise<Outcome<Command>> {
  return post(
    `${thingPath(address)}/acts/${encodeURIComponent(act)}`,
    { arguments: values },
    { "Command-Id": commandId },
  );
}

/** Unlocks what is guarded at a device. */
export function unlockDevice(deviceId: string, reason: string, minutes: number): Promise<Outcome<DeviceView>> {
  return post(`devices/${encodeURIComponent(deviceId)}/unlock`, { reason, minutes });
}

/** Locks it again before its time. */
export function lockDevice(deviceId: string): Promise<Outcome<DeviceView>> {
  return post(`devices/${encodeURIComponent(deviceId)}/lock`, {});
}

/** Takes the lease of a device from whoever holds it. */
export function takeLease(deviceId: string): Promise<Outcome<DeviceView>> {
  return post(`devices/${encodeURIComponent(deviceId)}/lease`, {});
}

/** What a scan has found so far. */
export function levelsOf(commandId: string): Promise<Outcome<{ readonly stretches: readonly Stretch[] }>> {
  return send(`commands/${encodeURIComponent(commandId)}/levels`, {});
}
