import { expect, test } from "vitest";
import type { DeviceEntry, DeviceView } from "../protocol/model";
import { deviceLines } from "./device_lines";

const contact: DeviceView["contact"] = {
  device_id: "quay-1",
  state: "lost",
  since_utc_us: 1,
  last_seen_utc_us: 3_600_000_000,
  reason: "no fresh heartbeat for 5 s",
  boot_id: "boot",
  attempts: 3,
  next_attempt_utc_us: null,
  reached_through: "",
};
const view: DeviceView = {
  device_id: "quay-1",
  contact,
  description: null,
  lease: null,
  unlocked: null,
  origin: "replayed",
};
const entry: DeviceEntry = {
  device_id: "quay-1",
  url: "ws://127.0.0.1:20001/",
  label: "Quay rack",
  expects: "either",
  token: "",
  enabled: true,
  given: "list",
  replay: false,
};

test("a lost device says why, when it was last seen, and may be tried", () => {
  const [line] = deviceLines([view], [entry]);
  expect(line).toMatchObject({ contact: "lost", reason: "no fresh heartbeat for 5 s", mayRetry: true, real: false });
  expect(line?.origin).toBe("recording");
  expect(line?.seen).toMatch(/^last seen /);
});

test("one that reports says nothing of when it was seen, which is now", () => {
  const [line] = deviceLines([{ ...view, contact: { ...contact, state: "fresh", reason: "" } }], [entry]);
  expect(line).toMatchObject({ contact: "reports", seen: "", mayRetry: false });
});

test("one that is switched off says so and is not called lost", () => {
  const off = { ...view, contact: { ...contact, state: "removed" as const, reason: "switched off" } };
  const [line] = deviceLines([off], [{ ...entry, enabled: false }]);
  expect(line).toMatchObject({ contact: "switched off", reason: "", mayRetry: false });
});

test("what the list doesn't name is shown all the same, and so is what was never heard", () => {
  const behind = { ...view, device_id: "behind-1", contact: { ...contact, reached_through: "gate-1" } };
  const lines = deviceLines([behind], [entry]);
  expect(lines.map((line) => line.deviceId)).toEqual(["behind-1", "quay-1"]);
  expect(lines[0]).toMatchObject({ address: "through gate-1", entry: null });
  expect(lines[1]).toMatchObject({ contact: "being called", seen: "never seen" });
});

test("a kind that nobody knows keeps its own word", () => {
  const description = { kind: "weather vane", form: "on the roof" } as NonNullable<DeviceView["description"]>;
  const [line] = deviceLines([{ ...view, description }], [entry]);
  expect(line).toMatchObject({ kind: "weather vane", form: "on the roof" });
});
