import type { Store } from "../src/data/store";
import type { Command, Matter } from "../src/protocol/model";
import { ageAt } from "../src/pure/age_axis";
import { encodeReadings, encodeRecent, type RecentCell, type RowValues } from "./encode";
import { positions, ternRock } from "./tern_rock";

/** A console that only pretends: it drives the store by the same messages as the real one. For pictures and the gallery. */

const CELLS = 512;
const MONOTONIC_START_US = 5e9;
const DAMAGED_AT_AGES_S: Readonly<Record<number, readonly number[]>> = { 3: [22], 7: [80, 86], 13: [1900] };
const SUPPLY_AGE_S = 430;
const LOST_NUMBERS = [21, 22];
const LOST_FOR_S = 31;
const ASLEEP_NUMBER = 16;
const DEAF_FOR_S = 12;

/** Noise that is the same each time: a sum of slow waves by row and moment, about −1 to 1. */
function wander(row: number, seconds: number): number {
  let sum = 0;
  for (let wave = 1; wave <= 6; wave += 1) {
    sum += Math.sin(seconds * 0.21 * wave ** 1.7 + row * 12.9898 * wave) / wave;
  }
  return sum / 1.8;
}

function speaking(row: number, seconds: number): boolean {
  return Math.sin(seconds / (9 + row) + row * 7) > 0.25 && Math.sin(seconds * 3.1 + row) > -0.6;
}

function levelOf(row: number, branch: number, seconds: number): number {
  return -56 - (row % 5) * 2 + wander(row * 2 + branch, seconds) * 6;
}

export type Scene = "calm" | "busy";

export class FakeConsole {
  private readonly startMs = performance.now();
  private readonly startUs = Date.now() * 1000;
  private timer: ReturnType<typeof setInterval> | undefined;

  constructor(
    private readonly store: Store,
    private readonly scene: Scene,
  ) {}

  start(): void {
    const message = ternRock(this.startUs);
    this.store.takeMessage(this.scene === "busy" ? this.troubled(message) : message);
    this.store.takeFrame(this.recent(), performance.now());
    this.store.setLink({ state: "live" });
    this.timer = setInterval(() => this.frame(), 100);
    this.frame();
  }

  stop(): void {
    clearInterval(this.timer);
  }

  private get elapsedS(): number {
    return (performance.now() - this.startMs) / 1000;
  }

  private troubled(message: ReturnType<typeof ternRock>): ReturnType<typeof ternRock> {
    const lost = this.startUs - LOST_FOR_S * 1e6;
    const devices = message.snapshot.devices.map((device) =>
      device.device_id === "quay-3"
        ? { ...device, contact: { ...device.contact, state: "lost" as const, last_seen_utc_us: lost } }
        : device,
    );
    const matters = [
      matter({
        matter_id: "a",
        cause: "weak-rf",
        root: "house-5/carrier/2",
        rows: ["house-5/channel/2"],
        priority: 2,
        began_utc_us: this.startUs - 9e6,
        evidence: { better_branch_margin_db: 12.3 },
      }),
      matter({
        matter_id: "b",
        cause: "contact-lost",
        root: "quay-3",
        rows: ["quay-3/channel/1", "quay-3/channel/2"],
        priority: 3,
        began_utc_us: lost,
        evidence: { contact_age_s: 5 },
      }),
      matter({
        matter_id: "c",
        cause: "weak-rf",
        root: "camera-1/carrier/1",
        rows: ["camera-1/channel/1"],
        priority: 2,
        began_utc_us: this.startUs - 95e6,
        evidence: { better_branch_margin_db: 14.1 },
        acknowledged: true,
      }),
    ];
    const commands = [
      command({ command_id: "1", target: "pack/k10", changes: { rf_power_mw: 50 }, state: "waiting for wake" }),
      command({
        command_id: "2",
        target: "pack/k10",
        changes: { input_trim_db: 8 },
        state: "unknown",
        reason: "no report came within 5 s",
      }),
      command({
        command_id: "3",
        target: "pack/k10",
        changes: { low_cut_hz: 120 },
        state: "refused",
        reason: "its panel is locked",
      }),
      command({ command_id: "4", target: "house-5/channel/2", changes: { trim_db: -1.5 }, state: "confirmed" }),
    ];
    return { ...message, snapshot: { ...message.snapshot, devices, matters, commands } };
  }

  private recent(): ArrayBuffer {
    const rows = this.store.tables.rows("channel").map((channel) => {
      const number = positions.find((one) => one.channel === channel)?.number ?? 0;
      return Array.from({ length: CELLS }, (_, cell) => this.cell(number, ageAt((cell + 0.5) / CELLS)));
    });
    return encodeRecent(rows, { utcUs: this.startUs, monotonicUs: MONOTONIC_START_US });
  }

  private cell(number: number, age: number): RecentCell {
    const seconds = 10_000 - age;
    const silent = this.scene === "busy" && LOST_NUMBERS.includes(number) && age < LOST_FOR_S;
    const supply = number <= 15 && Math.abs(age - SUPPLY_AGE_S) < 3;
    const own = (DAMAGED_AT_AGES_S[number] ?? []).some((one) => Math.abs(one - age) < 0.4 + age * 0.004);
    const steadied = 1 / (1 + age / 40);
    const level = levelOf(number, 0, 0) + (levelOf(number, 0, seconds) - levelOf(number, 0, 0)) * steadied;
    return {
      median: level,
      worst: level - 7 - Math.abs(wander(number + 40, seconds)) * 9,
      damage: this.scene === "busy" && (supply || own) ? 0.6 : 0,
      speech: number === ASLEEP_NUMBER ? 0 : Math.max(wander(number + 90, seconds * 0.2) * 0.5 + 0.3, 0),
      reported: silent ? 0 : 1,
      deaf: this.scene === "busy" && number <= 15 && age < DEAF_FOR_S ? 2 : 0,
    };
  }

  private frame(): void {
    const elapsed = this.elapsedS;
    const time = {
      utcUs: this.startUs + Math.round(elapsed * 1e6),
      monotonicUs: MONOTONIC_START_US + Math.round(elapsed * 1e6),
    };
    for (const table of ternRock(this.startUs).snapshot.tables) {
      const values = table.rows.map((address) => this.valuesOf(address, 10_000 + elapsed));
      const ages = table.rows.map((address) => this.ageOf(address, elapsed));
      this.store.takeFrame(encodeReadings(table, values, time, ages), performance.now());
    }
  }

  private ageOf(address: string, elapsed: number): number {
    if (this.scene === "calm") return 0.05;
    if (address.startsWith("quay-3")) return LOST_FOR_S + elapsed;
    return LOST_NUMBERS.some((number) => address === `pack/k${number}`) ? LOST_FOR_S + elapsed : 0.05;
  }

  private valuesOf(address: string, seconds: number): RowValues {
    const parts = address.split("/");
    if (parts.length === 1) return { contact_age_s: this.ageOf(address, this.elapsedS) };
    if (parts[0] === "pack") return this.packValues(Number((parts[1] ?? "k0").slice(1)));
    const channel = `${parts[0]}/channel/${parts[2]}`;
    const number = positions.find((one) => one.channel === channel)?.number ?? 0;
    if (parts.length === 5) return this.branchValues(number, parts[4] === "b" ? 1 : 0, seconds);
    return parts[1] === "carrier" ? { link_quality: 1 } : channelValues(number, seconds);
  }

  private branchValues(number: number, branch: number, seconds: number): RowValues {
    const deaf = this.scene === "busy" && branch === 1 && number <= 15;
    const weak = this.scene === "busy" && number === 10 ? 30 : 0;
    const level = deaf ? -115 : levelOf(number, branch, seconds) - weak;
    return { rf_dbm: level, rf_min_dbm: level - 5, rf_max_dbm: level + 3, floor_dbm: deaf ? -115 : -105 };
  }

  private packValues(number: number): RowValues {
    if (number === 19 || number === 20) return {};
    return {
      battery_minutes: 70 + ((number * 37) % 400),
      battery_fraction: 0.15 + ((number * 37) % 400) / 470,
      asleep: number === ASLEEP_NUMBER ? 1 : 0,
      goodbye: 0,
    };
  }
}

function channelValues(number: number, seconds: number): RowValues {
  const loud = speaking(number, seconds);
  const rms = loud ? -26 + wander(number + 20, seconds * 4) * 6 : -72;
  const shape = { audio_damage_fraction: 0, audio_state: 0 };
  return number >= 19 && number <= 22
    ? { ...shape, peak_dbu: rms + 32, rms_dbu: rms + 20 }
    : { ...shape, peak_dbfs: Math.min(rms + 11, -0.5), rms_dbfs: rms };
}

export function matter(parts: Partial<Matter>): Matter {
  return {
    matter_id: "matter",
    cause: "weak-rf",
    root: "house-1/carrier/1",
    rows: ["house-1/channel/1"],
    alarms: [`${parts.cause ?? "weak-rf"}:${parts.root ?? "house-1/carrier/1"}`],
    priority: 2,
    began_utc_us: 0,
    evidence: {},
    acknowledged: false,
    returned: false,
    shared: "",
    ...parts,
  };
}

export function command(parts: Partial<Command>): Command {
  return {
    command_id: "command",
    target: "pack/k01",
    device_id: "house-1",
    changes: {},
    revision: "boot.7",
    requested_by: "engineer",
    requested_utc_us: 0,
    state: "requested",
    changed_utc_us: 0,
    reason: "",
    outcomes: [],
    deadline_monotonic_us: null,
    unrecorded: false,
    act: "",
    progress: null,
    result: {},
    ...parts,
  };
}
