import { expect, it } from "vitest";
import type { DeviceDescription } from "../protocol/model";
import { partsOf } from "./parts";

const description: DeviceDescription = {
  device_id: "sink-1",
  kind: "receiver",
  form: "rack",
  simulated: true,
  read_only: false,
  carriers: [
    {
      address: "sink-1/carrier/1",
      branches: ["sink-1/carrier/1/branch/a", "sink-1/carrier/1/branch/b"],
      channels: ["sink-1/channel/1"],
      analog: false,
    },
  ],
  channels: [
    { address: "sink-1/channel/1", carrier: "sink-1/carrier/1", pack: "pack/s1" },
    { address: "sink-1/channel/2", carrier: "sink-1/carrier/1", pack: null },
  ],
  packs: ["pack/s1"],
  capabilities: [],
  outputs: [{ address: "sink-1/output/1", form: "analog" }],
  inputs: ["sink-1/input/a"],
  bays: ["sink-1/bay/1"],
  acts: [],
};

it("walks through every part once, each under what it hangs on", () => {
  expect(partsOf(description).map((part) => `${part.depth} ${part.place} ${part.label}`)).toEqual([
    "0 device sink-1",
    "1 carrier 1",
    "2 branch a",
    "2 branch b",
    "2 channel 1",
    "1 channel 2",
    "1 output 1",
    "1 input a",
    "1 bay 1",
    "1 pack s1",
  ]);
});
