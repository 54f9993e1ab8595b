import type { SnapshotMessage } from "../src/protocol/live";
import type { Capability, DeviceView, Position, SettingsView, ValueSchema } from "../src/protocol/model";
import { Quality } from "../src/protocol/quality";
import { COLUMN_PLACES, tableOf } from "./encode";
import { plainAhead, plainDay } from "./evening";

/** *The Lamp at Tern Rock* as a snapshot, for the gallery and for pictures of the screen. Nothing here is measured. */

const PARTS: readonly (readonly [string, string])[] = [
  ...["Keeper", "Ferryman", "Pilot", "Tern", "Widow", "Harbourmaster", "Apprentice"].map(
    (part) => ["House", part] as const,
  ),
  ...[1, 2, 3, 4, 5, 6].map((number) => ["House", `Chorus ${number}`] as const),
  ["House", "Narrator"],
  ["House", "Host"],
  ["House", "Spare"],
  ["Quay", "Fiddler"],
  ["Quay", "Crier"],
  ["Quay", "Child"],
  ["Quay", "Mayor"],
  ["Quay", "Spare 1"],
  ["Quay", "Spare 2"],
  ["Camera", "Reporter"],
  ["Camera", "Handheld"],
];

function deviceOf(number: number): string {
  if (number <= 16) return `house-${Math.ceil(number / 2)}`;
  return number <= 22 ? `quay-${Math.ceil((number - 16) / 2)}` : "camera-1";
}

function nameOf(deviceId: string): string {
  const [place, number] = deviceId.split("-");
  return `${(place ?? "").replace(/^./, (letter) => letter.toUpperCase())} receiver ${number}`;
}

export const positions: readonly Position[] = PARTS.map(([zone, part], index) => ({
  number: index + 1,
  part,
  zone,
  channel: `${deviceOf(index + 1)}/channel/${2 - ((index + 1) % 2)}`,
  pack: `pack/k${`${index + 1}`.padStart(2, "0")}`,
  spare: part.startsWith("Spare"),
  owner: "",
}));

function schema(parts: Partial<ValueSchema> & Pick<ValueSchema, "type">): ValueSchema {
  return { minimum: null, maximum: null, multiple_of: null, enum: [], maximum_length: 64, ...parts };
}

export function capability(
  targets: readonly string[],
  field: string,
  shape: ValueSchema,
  rest: Partial<Capability> = {},
): Capability {
  return {
    targets,
    field,
    schema: shape,
    held: "receiver",
    unit: "",
    words: "",
    writable: true,
    inferred: false,
    mutes: false,
    needs_awake: false,
    needs_hand: false,
    fastest_interval_ms: 1000,
    accept_within_ms: 2000,
    confirm_within_ms: 5000,
    revisions_synthesised: false,
    guarded: false,
    when: [],
    ...rest,
  };
}

const frequency = schema({ type: "integer", minimum: 470_000_000, maximum: 694_000_000, multiple_of: 25_000 });
const boolean = schema({ type: "boolean" });
const text = schema({ type: "string", maximum_length: 24 });

function capabilitiesOf(deviceId: string, mine: readonly Position[]): Capability[] {
  const packs = mine.flatMap((one) => (one.pack === null ? [] : [one.pack]));
  const channels = mine.map((one) => one.channel);
  const held = { held: "pack", needs_awake: true } as const;
  return [
    capability(packs, "name", text, held),
    capability(packs, "frequency_hz", frequency, { ...held, unit: "Hz", mutes: true }),
    capability(packs, "input_trim_db", schema({ type: "number", minimum: -12, maximum: 24, multiple_of: 1 }), {
      ...held,
      unit: "dB",
    }),
    capability(packs, "low_cut_hz", schema({ type: "integer", enum: [0, 60, 80, 100, 120] }), { ...held, unit: "Hz" }),
    capability(packs, "rf_power_mw", schema({ type: "number", enum: [2, 10, 50] }), { ...held, unit: "mW" }),
    capability(packs, "standby", boolean, { held: "pack" }),
    capability(packs, "muted", boolean, held),
    capability(channels, "name", text),
    capability(channels, "trim_db", schema({ type: "number", minimum: -20, maximum: 20, multiple_of: 0.5 }), {
      unit: "dB",
    }),
    capability(channels, "muted", boolean),
    capability(
      channels.map((one) => one.replace("channel", "carrier")),
      "frequency_hz",
      frequency,
      { unit: "Hz", mutes: true },
    ),
    capability([deviceId], "name", text),
    capability([deviceId], "lamp_level", schema({ type: "integer", minimum: 0, maximum: 7 }), {
      words: "brightness of its lamps",
    }),
  ];
}

function deviceView(deviceId: string, nowUs: number): DeviceView {
  const mine = positions.filter((one) => deviceOf(one.number) === deviceId);
  const carriers = mine.map((one) => one.channel.replace("channel", "carrier"));
  return {
    device_id: deviceId,
    contact: {
      device_id: deviceId,
      state: "fresh",
      since_utc_us: nowUs - 7.2e9,
      last_seen_utc_us: nowUs,
      reason: "",
      boot_id: "boot",
      attempts: 0,
      next_attempt_utc_us: null,
      reached_through: "",
    },
    lease: null,
    unlocked: null,
    origin: "simulated",
    description: {
      device_id: deviceId,
      kind: "receiver",
      form: "rack",
      simulated: true,
      read_only: false,
      carriers: carriers.map((address, index) => ({
        address,
        branches: [`${address}/branch/a`, `${address}/branch/b`],
        channels: [mine[index]?.channel ?? ""],
        analog: [19, 20, 21, 22].includes(mine[index]?.number ?? 0),
      })),
      channels: mine.map((one, index) => ({ address: one.channel, carrier: carriers[index] ?? "", pack: one.pack })),
      packs: mine.flatMap((one) => (one.pack === null ? [] : [one.pack])),
      capabilities: capabilitiesOf(deviceId, mine),
      outputs: [],
      inputs: [],
      bays: [],
      acts: [],
    },
  };
}

function settingsOf(device: DeviceView): SettingsView[] {
  const make = (address: string, reported: SettingsView["reported"]): SettingsView => ({
    address,
    revision: "boot.7",
    controlled_through: device.device_id,
    quality: Quality.Good,
    reported,
    desired: [],
    in_force: {},
  });
  const description = device.description;
  if (description === null) return [];
  const number = (address: string) =>
    positions.find((one) => one.pack === address || one.channel === address)?.number ?? 1;
  const hertz = (address: string) => 470_100_000 + number(address) * 1_325_000;
  return [
    make(device.device_id, { name: nameOf(device.device_id), lamp_level: 3 }),
    ...description.channels.map((one) =>
      make(one.address, { name: `Channel ${number(one.address)}`, trim_db: -1.5, muted: false }),
    ),
    ...description.channels.map((one) => make(one.carrier, { frequency_hz: hertz(one.address) })),
    ...description.packs.map((address) =>
      make(address, {
        name: `K${number(address)}`,
        frequency_hz: hertz(address),
        input_trim_db: 6,
        low_cut_hz: 80,
        rf_power_mw: 10,
        standby: false,
        muted: false,
      }),
    ),
  ];
}

/** The snapshot as it stands at `nowUs`, with nothing wrong. */
export function ternRock(nowUs: number): SnapshotMessage {
  const ids = [...new Set(positions.map((one) => deviceOf(one.number)))];
  const devices = ids.map((id) => deviceView(id, nowUs));
  const carriers = devices.flatMap((device) => device.description?.carriers ?? []);
  const rows = {
    device: ids,
    carrier: carriers.map((one) => one.address),
    branch: carriers.flatMap((one) => one.branches),
    channel: carriers.flatMap((one) => one.channels),
    pack: positions.flatMap((one) => (one.pack === null ? [] : [one.pack])),
    output: [],
    input: [],
    bay: [],
  };
  return {
    type: "snapshot",
    person: { name: "engineer", roles: ["viewer", "operator", "engineer"] },
    version: "0.1.0",
    snapshot: {
      epoch: 1,
      sequence: 1,
      at_utc_us: nowUs,
      production: { name: "The Lamp at Tern Rock", zones: ["House", "Quay", "Camera"], positions, ...plainDay },
      production_revision: 1,
      ahead: plainAhead,
      devices,
      tables: COLUMN_PLACES.map((place) => tableOf(place, rows[place])),
      settings: devices.flatMap(settingsOf),
      exact: {},
      commands: [],
      alarms: [],
      matters: [],
      journal: { writable: true, written_utc_us: nowUs - 2e6, waiting: 0, reason: "" },
      zones: [],
    },
  };
}
