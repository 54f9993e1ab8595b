import type { CarrierDescription, DeviceView, Position } from "../protocol/model";
import type { RowFacts } from "../pure/row";
import type { Picture } from "./picture";

/** The rows in the production's order, then channels that it doesn't name, in the devices' order. Never sorted. */
export function rowsOf(picture: Picture): RowFacts[] {
  const placed = picture.production.positions.map((position) => placedRow(picture, position));
  const known = new Set(placed.map((row) => row.channel));
  const others = [...picture.devices.values()].flatMap((device) => channelsOf(device));
  const unplaced = others.filter((channel) => !known.has(channel));
  return [...placed, ...unplaced.map((channel, index) => unplacedRow(picture, channel, placed.length + index + 1))];
}

/** Whether the rows may differ: contact comes and goes without changing who is heard where. */
export function rowsChanged(before: Picture, after: Picture): boolean {
  if (before.production !== after.production || before.devices.size !== after.devices.size) return true;
  for (const [id, device] of after.devices) {
    if (before.devices.get(id)?.description !== device.description) return true;
  }
  return before.settings !== after.settings && hasUnplaced(after);
}

/** Rows outside the production go by the names that their channels were given. */
function hasUnplaced(picture: Picture): boolean {
  const placed = new Set(picture.production.positions.map((position) => position.channel));
  return [...picture.devices.values()].flatMap(channelsOf).some((channel) => !placed.has(channel));
}

function channelsOf(device: DeviceView): string[] {
  return (device.description?.channels ?? []).map((channel) => channel.address);
}

function placedRow(picture: Picture, position: Position): RowFacts {
  const { number, part, zone, channel, spare } = position;
  return { ...wiring(picture, channel, position.pack), number, part, zone, channel, spare };
}

function unplacedRow(picture: Picture, channel: string, number: number): RowFacts {
  const name = picture.settings.get(channel)?.reported["name"];
  const part = typeof name === "string" && name !== "" ? name : channel;
  return { ...wiring(picture, channel, null), number, part, zone: "", channel, spare: false };
}

type Wiring = Pick<RowFacts, "deviceId" | "carrier" | "branches" | "pack" | "simulated">;

function wiring(picture: Picture, channel: string, pack: string | null): Wiring {
  const deviceId = channel.split("/")[0] ?? channel;
  const description = picture.devices.get(deviceId)?.description ?? null;
  const described = description?.channels.find((one) => one.address === channel);
  const carrier: CarrierDescription | undefined = description?.carriers.find(
    (one) => one.address === described?.carrier || one.channels.includes(channel),
  );
  return {
    deviceId,
    carrier: carrier?.address ?? null,
    branches: carrier?.branches ?? [],
    pack: pack ?? described?.pack ?? null,
    simulated: description?.simulated ?? false,
  };
}
