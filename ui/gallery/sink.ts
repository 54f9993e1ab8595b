import type { Store } from "../src/data/store";
import type { SnapshotMessage } from "../src/protocol/live";
import type { Command, DeviceView, Place, SettingsView } from "../src/protocol/model";
import { Quality } from "../src/protocol/quality";
import { partsOf } from "../src/pure/parts";
import { COLUMN_PLACES, encodeReadings, type RowValues, tableOf } from "./encode";
import { command } from "./fake_console";
import { SINK_DEVICES } from "./sink_devices";
import { ternRock } from "./tern_rock";

/** A console that watches a device of every kind; nothing of it is measured. */

const MONOTONIC_START_US = 5e9;

const SETTINGS: Readonly<Record<string, SettingsView["reported"]>> = {
  "sink-wide-1": { name: "Wide receiver", clock_source: "word_clock" },
  "sink-wide-1/carrier/1": { mode: "dense", frequency_hz: 606_500_000, bandwidth_hz: 200_000, encryption: true },
  "sink-wide-1/channel/1": { name: "Keeper", trim_db: -1.5, muted: false },
  "sink-wide-1/channel/2": { name: "Ferryman", trim_db: 0, muted: false },
  "sink-wide-1/channel/3": { name: "Pilot", trim_db: 0, muted: true },
  "sink-wide-1/channel/4": { name: "Tern", trim_db: 3, muted: false },
  "sink-wide-1/output/1": { level_db: 0, source: "channel 1" },
  "sink-wide-1/output/2": { level_db: -6, source: "sum" },
  "pack/s01": { name: "S1", input_trim_db: 6, phantom: "off", cell_type: "lithium", rf_power_mw: 10 },
  "house-split": { name: "House distribution" },
  "house-split/input/a": { feed_powered: true, attenuation_db: 0 },
  "house-split/input/b": { feed_powered: true, attenuation_db: 3 },
  "house-split/input/c": { feed_powered: false, attenuation_db: 0 },
  "house-split/input/d": { feed_powered: true, attenuation_db: 0 },
  "sink-charger-1": { name: "Charger at stage left" },
  "sink-ear-1": { name: "Conductor's ears" },
  "sink-ear-1/carrier/1": { rf_on: true, rf_power_mw: 30, frequency_hz: 518_200_000 },
  "sink-ear-1/channel/1": { name: "Conductor", trim_db: -12 },
  "sink-scan-1": { name: "Roof scanner" },
  "sink-thing-1": { name: "Vane", arm_turns: 7, damping: 0.35, lamp: true, manner: "brisk" },
  "sink-reader-1": { panel_locked: true },
};

const EXACT: SnapshotMessage["snapshot"]["exact"] = {
  "sink-wide-1": { firmware: "2.4.1" },
  "sink-wide-1/channel/1": { identity: "s01", key_fingerprint: "7c19 e2f0" },
  "sink-wide-1/channel/2": { identity: "s02", key_fingerprint: "7c19 e2f0" },
  "pack/s01": { key_fingerprint: "7c19 e2f0" },
  "pack/s02": { key_fingerprint: "b004 11d7" },
  "sink-thing-1": { wind_from: "north-west", gusts_counted: 14 },
  "sink-charger-1/bay/1": { identity: "s01" },
  "sink-charger-1/bay/2": { identity: "s02" },
  "sink-charger-1/bay/3": { identity: "k03" },
  "sink-charger-1/bay/5": { identity: "s11" },
  "sink-charger-1/bay/6": { identity: "s12" },
  "sink-charger-1/bay/8": { identity: "s14" },
};

const CHARGE = { empty: 0, waiting: 1, charging: 2, full: 3, hot: 4, fault: 5 };
const bay = (charge_state: number, share: number, left: number, health: number): RowValues => ({
  charge_state,
  battery_fraction: share,
  minutes_to_full: left,
  health_fraction: health,
  temperature_c: 24 + share * 9,
});

const READINGS: Readonly<Record<string, RowValues>> = {
  "sink-wide-1": { clock_locked: 1, slip_count: 3, temperature_c: 41.5, supply_ok: 1, contact_age_s: 0.4 },
  "sink-wide-1/carrier/1": { link_quality: 0.998, foreign: 0 },
  "sink-wide-1/channel/1": { peak_dbfs: -14, rms_dbfs: -26, audio_damage_fraction: 0, audio_state: 0 },
  "sink-wide-1/channel/2": { peak_dbfs: -144, rms_dbfs: -144, audio_damage_fraction: 1, audio_state: 5 },
  "sink-wide-1/channel/3": { peak_dbfs: -20, rms_dbfs: -31, audio_damage_fraction: 0, audio_state: 1 },
  "sink-wide-1/channel/4": { peak_dbfs: -9, rms_dbfs: -21, audio_damage_fraction: 0, audio_state: 0 },
  "pack/s01": { battery_v: 2.61, battery_fraction: 0.62, battery_minutes: 214, switch: 0, return_link: 1, asleep: 0 },
  "house-split/input/a": { feed_ma: 92, feed_fault: 0 },
  "house-split/input/b": { feed_ma: 88, feed_fault: 0 },
  "house-split/input/c": { feed_ma: 0, feed_fault: 0 },
  "house-split/input/d": { feed_ma: 0, feed_fault: 1 },
  "sink-charger-1/bay/1": bay(CHARGE.charging, 0.42, 96, 0.94),
  "sink-charger-1/bay/2": bay(CHARGE.full, 1, 0, 0.91),
  "sink-charger-1/bay/3": bay(CHARGE.charging, 0.78, 31, 0.87),
  "sink-charger-1/bay/4": { charge_state: CHARGE.empty },
  "sink-charger-1/bay/5": bay(CHARGE.fault, 0.12, Number.NaN, 0.38),
  "sink-charger-1/bay/6": bay(CHARGE.waiting, 0.2, 160, 0.97),
  "sink-charger-1/bay/7": { charge_state: CHARGE.empty },
  "sink-charger-1/bay/8": bay(CHARGE.full, 1, 0, 0.72),
  "sink-ear-1/channel/1": { peak_dbfs: -18, rms_dbfs: -30, audio_state: 0 },
};

function commands(nowUs: number): Command[] {
  const asked = { requested_utc_us: nowUs - 9e6, changed_utc_us: nowUs - 4e6 };
  const scanned = { start_hz: 470_000_000, stop_hz: 694_000_000, step_hz: 100_000 };
  return [
    command({
      command_id: "scan",
      target: "sink-scan-1",
      device_id: "sink-scan-1",
      act: "scan",
      changes: scanned,
      state: "accepted",
      progress: 0.41,
      ...asked,
    }),
    command({
      command_id: "link",
      target: "sink-wide-1/channel/1",
      device_id: "sink-wide-1",
      act: "link",
      changes: { medium: "air" },
      state: "waiting for a hand",
      ...asked,
    }),
    command({
      command_id: "key",
      target: "sink-wide-1/channel/1",
      device_id: "sink-wide-1",
      act: "make_key",
      state: "confirmed",
      result: { key_fingerprint: "7c19 e2f0" },
      ...asked,
    }),
    command({
      command_id: "erase",
      target: "sink-wide-1/channel/1",
      device_id: "sink-wide-1",
      act: "erase_key",
      state: "unknown",
      reason: "the contact was lost before it said how it ended",
      ...asked,
    }),
    command({
      command_id: "cells",
      target: "pack/s01",
      device_id: "sink-wide-1",
      changes: { cell_type: "nickel" },
      state: "waiting for a hand",
      ...asked,
    }),
    command({
      command_id: "part",
      target: "sink-wide-1/carrier/1",
      device_id: "sink-wide-1",
      changes: { frequency_hz: 607_000_000, bandwidth_hz: 400_000 },
      state: "partly done",
      outcomes: [
        { field: "frequency_hz", done: true, reason: "" },
        { field: "bandwidth_hz", done: false, reason: "not at this frequency" },
      ],
      ...asked,
    }),
  ];
}

function viewOf(description: DeviceView["description"] & object, nowUs: number): DeviceView {
  const id = description.device_id;
  const contact = {
    device_id: id,
    state: "fresh" as const,
    since_utc_us: nowUs - 4.2e9,
    last_seen_utc_us: nowUs,
    reason: "",
    boot_id: "boot",
    attempts: 0,
    next_attempt_utc_us: null,
    reached_through: id === "sink-scan-1" ? "sink-gate-1" : "",
  };
  const lease =
    id === "sink-wide-1"
      ? { ours: true, holder: "" }
      : id === "sink-thing-1"
        ? { ours: false, holder: "the desk at the quay" }
        : null;
  const unlocked =
    id === "sink-ear-1" && location.search.includes("unlocked")
      ? { by: "engineer", reason: "fitting with the conductor", until_utc_us: nowUs + 507e6 }
      : null;
  return { device_id: id, contact, description, lease, unlocked, origin: "simulated" };
}

function settingsOf(device: DeviceView): SettingsView[] {
  if (device.description === null) return [];
  return partsOf(device.description).flatMap(({ address }) => {
    const reported = SETTINGS[address];
    if (reported === undefined) return [];
    const { device_id } = device;
    return {
      address,
      revision: "boot.7",
      controlled_through: device_id,
      quality: Quality.Good,
      reported,
      desired: [],
      in_force: {},
    };
  });
}

/** The snapshot as it stands at `nowUs`. */
export function kitchenSink(nowUs: number): SnapshotMessage {
  const plain = ternRock(nowUs);
  const devices = SINK_DEVICES.map((one) => viewOf(one, nowUs));
  const parts = SINK_DEVICES.flatMap((one) => partsOf(one));
  const rowsOf = (place: Place) => parts.filter((one) => one.place === place).map((one) => one.address);
  const feeds = ["House left", "House right", "Quay", "Camera"].map((feed, index) => ({
    feed,
    input: `house-split/input/${"abcd"[index]}`,
    branches: ["a", "b", "c", "d"].slice(0, 3 - (index % 2)).map((one) => `sink-wide-1/carrier/1/branch/${one}`),
  }));
  return {
    ...plain,
    snapshot: {
      ...plain.snapshot,
      production: { ...plain.snapshot.production, positions: [], antenna_paths: feeds },
      devices,
      tables: COLUMN_PLACES.map((place) => tableOf(place, rowsOf(place))),
      settings: devices.flatMap(settingsOf),
      exact: EXACT,
      commands: commands(nowUs),
    },
  };
}

/** Keeps a store supplied with this invented console. */
export function runSink(store: Store): void {
  const [startMs, startUs] = [performance.now(), Date.now() * 1000];
  const message = kitchenSink(startUs);
  store.takeMessage(message);
  store.setLink({ state: "live" });
  const frame = () => {
    const elapsedUs = Math.round((performance.now() - startMs) * 1000);
    const time = { utcUs: startUs + elapsedUs, monotonicUs: MONOTONIC_START_US + elapsedUs };
    for (const table of message.snapshot.tables) {
      const values = table.rows.map((address) => READINGS[address] ?? levelsOf(address));
      store.takeFrame(
        encodeReadings(
          table,
          values,
          time,
          values.map(() => 0.1),
        ),
        performance.now(),
      );
    }
  };
  frame();
  setInterval(frame, 100);
}

function levelsOf(address: string): RowValues {
  const branch = "abcd".indexOf(address.split("/branch/")[1] ?? "-");
  if (branch === -1) return {};
  const level = -52 - branch * 6 + Math.sin(performance.now() / 900 + branch) * 3;
  return { rf_dbm: level, rf_min_dbm: level - 5, rf_max_dbm: level + 2, floor_dbm: -104, overload: 0 };
}
