import type { ActCapability, Argument, Capability, DeviceDescription, ValueSchema } from "../src/protocol/model";
import { capability } from "./tern_rock";

/** Devices of every kind, invented, as they would describe themselves. For pictures and the gallery. */

export function schema(parts: Partial<ValueSchema> & Pick<ValueSchema, "type">): ValueSchema {
  return { minimum: null, maximum: null, multiple_of: null, enum: [], maximum_length: 64, ...parts };
}

const choice = (...values: string[]) => schema({ type: "string", enum: values });
const whole = (minimum: number, maximum: number, step = 1) =>
  schema({ type: "integer", minimum, maximum, multiple_of: step });
const decibels = (minimum: number, maximum: number, step = 1) =>
  schema({ type: "number", minimum, maximum, multiple_of: step });
const flag = schema({ type: "boolean" });
const text = schema({ type: "string", maximum_length: 24 });

function argument(name: string, shape: ValueSchema, rest: Partial<Argument> = {}): Argument {
  return { name, schema: shape, unit: "", words: "", required: true, secret: false, ...rest };
}

function act(targets: readonly string[], name: string, rest: Partial<ActCapability> = {}): ActCapability {
  return {
    targets,
    act: name,
    words: "",
    arguments: [],
    mutes_for_ms: 0,
    needs_awake: false,
    needs_hand: false,
    cancellable: false,
    progress: false,
    guarded: false,
    accept_within_ms: 2000,
    finish_within_ms: 60_000,
    ...rest,
  };
}

function device(parts: Partial<DeviceDescription> & Pick<DeviceDescription, "device_id" | "kind">): DeviceDescription {
  return {
    form: "",
    simulated: true,
    read_only: false,
    carriers: [],
    channels: [],
    packs: [],
    capabilities: [],
    outputs: [],
    inputs: [],
    bays: [],
    acts: [],
    ...parts,
  };
}

const hertz = whole(470_000_000, 694_000_000, 25_000);
const seconds = argument("seconds", whole(1, 10), { unit: "s" });
const span = [
  argument("start_hz", hertz, { unit: "Hz" }),
  argument("stop_hz", hertz, { unit: "Hz" }),
  argument("step_hz", schema({ type: "integer", enum: [25_000, 100_000] }), { unit: "Hz" }),
];
const name = (...targets: string[]) => capability(targets, "name", text);

const WIDE = "sink-wide-1";
const WIDE_CARRIER = `${WIDE}/carrier/1`;
const WIDE_CHANNELS = [1, 2, 3, 4].map((one) => `${WIDE}/channel/${one}`);
const WIDE_PACKS = ["pack/s01", "pack/s02", "pack/s03", "pack/s04"];

function wideCapabilities(): Capability[] {
  const mode = (...values: string[]) => ({ when: [{ field: "mode", values, address: "" }] });
  const held = { held: "pack", needs_awake: true } as const;
  return [
    name(WIDE, ...WIDE_CHANNELS, ...WIDE_PACKS),
    capability([WIDE], "clock_source", choice("internal", "word_clock", "network")),
    capability([WIDE_CARRIER], "mode", choice("dense", "robust"), { mutes: true }),
    capability([WIDE_CARRIER], "frequency_hz", hertz, { unit: "Hz", mutes: true }),
    capability([WIDE_CARRIER], "bandwidth_hz", schema({ type: "integer", enum: [200_000, 400_000] }), {
      unit: "Hz",
      mutes: true,
      ...mode("dense"),
    }),
    capability([WIDE_CARRIER], "squelch_dbm", decibels(-105, -75), { unit: "dBm", ...mode("robust") }),
    capability([WIDE_CARRIER], "encryption", flag),
    capability(WIDE_CHANNELS, "trim_db", decibels(-20, 20, 0.5), { unit: "dB" }),
    capability(WIDE_CHANNELS, "muted", flag),
    capability([`${WIDE}/output/1`, `${WIDE}/output/2`], "level_db", decibels(-40, 12, 0.5), { unit: "dB" }),
    capability([`${WIDE}/output/1`, `${WIDE}/output/2`], "source", choice("channel 1", "channel 2", "sum")),
    capability(WIDE_PACKS, "input_trim_db", decibels(-12, 24), { unit: "dB", ...held }),
    capability(WIDE_PACKS, "phantom", choice("off", "12 V", "48 V"), held),
    capability(WIDE_PACKS, "cell_type", choice("alkaline", "nickel", "lithium"), { held: "pack", needs_hand: true }),
    capability(WIDE_PACKS, "rf_power_mw", schema({ type: "number", enum: [2, 10, 50] }), { unit: "mW", ...held }),
  ];
}

const wide = device({
  device_id: WIDE,
  kind: "receiver",
  form: "rack, two units",
  carriers: [
    {
      address: WIDE_CARRIER,
      branches: ["a", "b", "c", "d"].map((one) => `${WIDE_CARRIER}/branch/${one}`),
      channels: WIDE_CHANNELS,
      analog: false,
    },
  ],
  channels: WIDE_CHANNELS.map((address, index) => ({
    address,
    carrier: WIDE_CARRIER,
    pack: WIDE_PACKS[index] ?? null,
  })),
  packs: WIDE_PACKS,
  outputs: [
    { address: `${WIDE}/output/1`, form: "analog" },
    { address: `${WIDE}/output/2`, form: "network" },
  ],
  capabilities: wideCapabilities(),
  acts: [
    act([WIDE], "identify", { arguments: [{ ...seconds, required: false }] }),
    act([WIDE], "restart", { mutes_for_ms: 20_000 }),
    act([WIDE_CARRIER], "scan", { arguments: span, mutes_for_ms: 8000, cancellable: true, progress: true }),
    act(WIDE_CHANNELS, "link", {
      arguments: [argument("medium", choice("air", "cable", "infrared", "hand"))],
      needs_hand: true,
      cancellable: true,
    }),
    act(WIDE_CHANNELS, "make_key", { mutes_for_ms: 2000 }),
    act(WIDE_CHANNELS, "set_key", { arguments: [argument("key", text, { secret: true })], mutes_for_ms: 2000 }),
    act(WIDE_CHANNELS, "erase_key", { mutes_for_ms: 2000 }),
  ],
});

const sockets = ["a", "b", "c", "d"].map((one) => `house-split/input/${one}`);
const split = device({
  device_id: "house-split",
  kind: "distribution",
  form: "rack, one unit",
  inputs: sockets,
  outputs: [{ address: "house-split/output/1", form: "analog" }],
  capabilities: [
    name("house-split"),
    capability(sockets, "feed_powered", flag, { mutes: true }),
    capability(sockets, "attenuation_db", decibels(0, 20), { unit: "dB" }),
  ],
  acts: [act(["house-split"], "identify", { arguments: [seconds] })],
});

const bays = [1, 2, 3, 4, 5, 6, 7, 8].map((one) => `sink-charger-1/bay/${one}`);
const charger = device({
  device_id: "sink-charger-1",
  kind: "charger",
  form: "tray",
  bays,
  capabilities: [name("sink-charger-1")],
  acts: [act(["sink-charger-1"], "identify", { arguments: [seconds] })],
});

const EAR = "sink-ear-1";
const guarded = { guarded: true } as const;
const ear = device({
  device_id: EAR,
  kind: "in-ear transmitter",
  form: "half rack",
  carriers: [{ address: `${EAR}/carrier/1`, branches: [], channels: [`${EAR}/channel/1`], analog: true }],
  channels: [{ address: `${EAR}/channel/1`, carrier: `${EAR}/carrier/1`, pack: null }],
  capabilities: [
    name(EAR, `${EAR}/channel/1`),
    capability([`${EAR}/carrier/1`], "rf_on", flag, guarded),
    capability([`${EAR}/carrier/1`], "rf_power_mw", schema({ type: "number", enum: [10, 30, 50] }), {
      unit: "mW",
      ...guarded,
    }),
    capability([`${EAR}/carrier/1`], "frequency_hz", hertz, { unit: "Hz", mutes: true, ...guarded }),
    capability([`${EAR}/channel/1`], "trim_db", decibels(-30, 6), { unit: "dB", ...guarded }),
  ],
  acts: [act([`${EAR}/channel/1`], "tone", { arguments: [seconds], ...guarded })],
});

const scanner = device({
  device_id: "sink-scan-1",
  kind: "scanner",
  form: "handheld",
  capabilities: [name("sink-scan-1")],
  acts: [
    act(["sink-scan-1"], "scan", { arguments: span, cancellable: true, progress: true, finish_within_ms: 90_000 }),
  ],
});

const vane = device({
  device_id: "sink-thing-1",
  kind: "weather vane",
  form: "on the roof",
  capabilities: [
    name("sink-thing-1"),
    capability(["sink-thing-1"], "arm_turns", whole(0, 40), { words: "turns of its arm" }),
    capability(["sink-thing-1"], "damping", decibels(0, 1, 0.05), { words: "damping of the tail" }),
    capability(["sink-thing-1"], "lamp", flag, { words: "lamp on the mast" }),
    capability(["sink-thing-1"], "manner", choice("calm", "brisk", "storm"), { words: "manner" }),
  ],
  acts: [act(["sink-thing-1"], "spin", { words: "spin once round", arguments: [argument("turns", whole(1, 3))] })],
});

const reader = device({
  device_id: "sink-reader-1",
  kind: "receiver",
  form: "read by its display",
  read_only: true,
  capabilities: [capability(["sink-reader-1"], "panel_locked", flag)],
});

export const SINK_DEVICES: readonly DeviceDescription[] = [wide, split, charger, ear, scanner, vane, reader];
