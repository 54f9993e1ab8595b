/** The parts of a device, as somebody would walk through them. */

import type { DeviceDescription, Place } from "../protocol/model";

export interface Part {
  readonly place: Place;
  readonly address: string;
  /** How deep it hangs under the device: an antenna input under its carrier. */
  readonly depth: 0 | 1 | 2;
  /** What the device calls it: the last part of its address. */
  readonly label: string;
}

/** Every part of a device, the device first: carriers with what hangs on them, then the rest, then its packs. */
export function partsOf(description: DeviceDescription): Part[] {
  const part = (place: Place, address: string, depth: Part["depth"]): Part => ({
    place,
    address,
    depth,
    label: address.split("/").at(-1) ?? address,
  });
  const borne = new Set(description.carriers.flatMap((carrier) => carrier.channels));
  return [
    part("device", description.device_id, 0),
    ...description.carriers.flatMap((carrier) => [
      part("carrier", carrier.address, 1),
      ...carrier.branches.map((branch) => part("branch", branch, 2)),
      ...carrier.channels.map((channel) => part("channel", channel, 2)),
    ]),
    ...description.channels.filter((one) => !borne.has(one.address)).map((one) => part("channel", one.address, 1)),
    ...description.outputs.map((output) => part("output", output.address, 1)),
    ...description.inputs.map((input) => part("input", input, 1)),
    ...description.bays.map((bay) => part("bay", bay, 1)),
    ...description.packs.map((pack) => part("pack", pack, 1)),
  ];
}
