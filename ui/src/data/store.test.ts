import { expect, test } from "vitest";
import { encodeReadings, encodeRecent } from "../../gallery/encode";
import { ternRock } from "../../gallery/tern_rock";
import { Store } from "./store";

const UTC = 1_700_000_000e6;
const CHANNEL = "house-1/channel/1";

function readings(store: Store, seconds: number, levels: readonly [number, number]): void {
  const time = { utcUs: UTC + seconds * 1e6, monotonicUs: 50e6 + seconds * 1e6 };
  for (const table of ternRock(UTC).snapshot.tables) {
    const values = table.rows.map((row) => {
      if (table.place === "branch") return { rf_dbm: row.endsWith("a") ? levels[0] : levels[1], rf_min_dbm: -80 };
      return table.place === "channel" ? { peak_dbfs: -10, rms_dbfs: -20, audio_damage_fraction: 0 } : {};
    });
    const ages = table.rows.map(() => 0);
    store.takeFrame(encodeReadings(table, values, time, ages), seconds * 1000);
  }
}

function opened(): Store {
  const store = new Store();
  store.takeMessage(ternRock(UTC));
  return store;
}

test("frames reach rows and strands", () => {
  const store = opened();
  for (let tick = 0; tick < 20; tick += 1) readings(store, tick / 10, [-60, -66]);
  const row = store.rows[0];
  if (row === undefined) throw new Error("no row");
  const now = store.clock.seconds(1900);
  const live = store.live(row, now);
  expect(live.state).toBe("on air");
  expect(live.better.value).toBe(-60);
  expect(live.branches.map((branch) => branch.deaf)).toEqual([false, false]);
  const bins = store.strands.of(CHANNEL);
  expect(bins.median[bins.slotAt(0, now)]).toBe(-60);
  expect(bins.speech[bins.slotAt(0, now)]).toBe(1);
});

test("a branch far below the other for a second is deaf, in the row and in the strand", () => {
  const store = opened();
  for (let tick = 0; tick < 20; tick += 1) readings(store, tick / 10, [-60, -115]);
  const row = store.rows[0];
  if (row === undefined) throw new Error("no row");
  expect(store.live(row, store.clock.seconds(1900)).branches.map((branch) => branch.deaf)).toEqual([false, true]);
});

test("without frames a row is unknown after two seconds, never good", () => {
  const store = opened();
  readings(store, 0, [-60, -66]);
  const row = store.rows[0];
  if (row === undefined) throw new Error("no row");
  expect(store.live(row, store.clock.seconds(1500)).state).toBe("on air");
  expect(store.live(row, store.clock.seconds(2600)).state).toBe("unknown");
});

test("the recent past fills the strands of the channels in the table's order", () => {
  const store = opened();
  const cell = { median: -55, worst: -75, damage: 0, speech: 0, reported: 1, deaf: 0 };
  const rows = store.tables
    .rows("channel")
    .map((channel) => Array.from({ length: 64 }, () => ({ ...cell, median: channel === CHANNEL ? -44 : -55 })));
  store.takeFrame(encodeRecent(rows, { utcUs: UTC, monotonicUs: 50e6 }), 0);
  const bins = store.strands.of(CHANNEL);
  expect(bins.median[bins.slotAt(9, store.clock.seconds(0) - 3000)]).toBe(-44);
  const other = store.strands.of("house-1/channel/2");
  expect(other.median[other.slotAt(9, store.clock.seconds(0) - 3000)]).toBe(-55);
});

test("a fresh snapshot keeps the strands, and each change is told once", () => {
  const store = opened();
  for (let tick = 0; tick < 5; tick += 1) readings(store, tick / 10, [-60, -66]);
  let told = 0;
  const stop = store.subscribe(() => {
    told += 1;
  });
  store.takeMessage(ternRock(UTC + 5e6));
  expect(told).toBe(1);
  stop();
  store.takeMessage(ternRock(UTC + 6e6));
  expect(told).toBe(1);
  const bins = store.strands.of(CHANNEL);
  expect(bins.slotAt(0, store.clock.secondsOfUtc(UTC + 0.3e6))).not.toBe(-1);
});
