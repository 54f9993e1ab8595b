import { expect, test } from "vitest";
import { command, matter } from "../../gallery/fake_console";
import { ternRock } from "../../gallery/tern_rock";
import type { CommandChanged, RecordedEvent } from "../protocol/events";
import { afterMessage, COMMANDS_KEPT, isOver, type Picture, pictureOf } from "./picture";

const at = { monotonic_us: 0, utc_us: 0 };
const start = (): Picture => pictureOf(ternRock(1e15), null);

function events(picture: Picture, ...list: RecordedEvent[]): Picture {
  return afterMessage(picture, { type: "events", events: list });
}

function changed(sequence: number, parts: Parameters<typeof command>[0]): CommandChanged {
  return { sequence, kind: "command changed", version: 2, at, command: command(parts) };
}

test("a snapshot replaces everything, but matters keep their slots", () => {
  const before = afterMessage(start(), {
    type: "matters",
    matters: [matter({ matter_id: "a" }), matter({ matter_id: "b" })],
  });
  const message = ternRock(1e15);
  const snapshot = { ...message.snapshot, matters: [matter({ matter_id: "b" }), matter({ matter_id: "c" })] };
  const after = pictureOf({ ...message, snapshot }, before);
  expect(after.slots).toEqual(["c", "b", null, null, null]);
});

test("contact changes and descriptions reach their device and no other", () => {
  const before = start();
  const contact = before.devices.get("quay-3")?.contact;
  if (contact === undefined) throw new Error("the fixture has no quay-3");
  const lost = { ...contact, state: "lost" as const };
  const after = events(before, { sequence: 2, kind: "contact changed", version: 2, at, contact: lost });
  expect(after.devices.get("quay-3")?.contact.state).toBe("lost");
  expect(after.devices.get("quay-3")?.description).toBe(before.devices.get("quay-3")?.description);
  expect(after.devices.get("quay-2")).toBe(before.devices.get("quay-2"));
  expect(before.devices.get("quay-3")?.contact.state).toBe("fresh");
});

test("an event that was known already changes nothing", () => {
  const first = events(start(), changed(5, { command_id: "c", state: "sent" }));
  const again = events(first, changed(4, { command_id: "c", state: "requested" }));
  expect(again).toBe(first);
  expect(again.commands.get("c")?.state).toBe("sent");
});

test("commands are bounded: the oldest that are over go first, open ones stay", () => {
  let picture = events(start(), changed(2, { command_id: "open", state: "unknown" }));
  for (let index = 0; index < COMMANDS_KEPT + 20; index += 1) {
    picture = events(picture, changed(3 + index, { command_id: `c${index}`, state: "confirmed" }));
  }
  expect(picture.commands.size).toBe(COMMANDS_KEPT);
  expect(picture.commands.has("open")).toBe(true);
  expect(picture.commands.has("c0")).toBe(false);
});

test("exact readings merge, and null takes one away", () => {
  const first = afterMessage(start(), {
    type: "exact",
    values: { "house-1/channel/1": { identity: "pack/k01", other: 3 } },
  });
  const second = afterMessage(first, { type: "exact", values: { "house-1/channel/1": { identity: null } } });
  expect(second.exact.get("house-1/channel/1")).toEqual({ other: 3 });
});

test("settings come whole", () => {
  const before = start();
  const settings = before.settings.get("pack/k01");
  if (settings === undefined) throw new Error("the fixture has no pack/k01");
  const changedSettings = { ...settings, revision: "boot.8", reported: { low_cut_hz: 100 } };
  const after = afterMessage(before, { type: "settings", settings: [changedSettings] });
  expect(after.settings.get("pack/k01")).toEqual(changedSettings);
  expect(after.settings.get("pack/k02")).toBe(before.settings.get("pack/k02"));
});

test("only what nothing can happen to is over", () => {
  expect(isOver(command({ state: "unknown" }))).toBe(false);
  expect(isOver(command({ state: "waiting for wake" }))).toBe(false);
  expect(isOver(command({ state: "not applied" }))).toBe(true);
});
