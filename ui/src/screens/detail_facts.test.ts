import { expect, test } from "vitest";
import { command } from "../../gallery/fake_console";
import { ternRock } from "../../gallery/tern_rock";
import { type Picture, pictureOf } from "../data/picture";
import { rowsOf } from "../data/rows";
import type { Command } from "../protocol/model";
import { detailFacts } from "./detail_facts";

const NOW = 1e15;

function shown(change: (picture: Picture) => Picture) {
  const picture = change(pictureOf(ternRock(NOW), null));
  const rows = rowsOf(picture);
  const row = rows[9];
  if (row === undefined) throw new Error("the fixture has no tenth row");
  return detailFacts(picture, rows, row, { dismissed: new Set(), problems: new Map(), nowUtcUs: NOW }, null);
}

function setting(facts: ReturnType<typeof shown>, address: string, field: string) {
  const group = facts.groups.find((one) => one.address === address);
  return group?.settings.find((one) => one.capability.field === field);
}

function withCommand(parts: Partial<Command>) {
  return (picture: Picture): Picture => ({
    ...picture,
    commands: new Map([["c", command({ target: "pack/k10", ...parts })]]),
  });
}

test("every setting of pack, channel, carrier and receiver is there, the unknown ones too", () => {
  const facts = shown((picture) => picture);
  expect(facts.target).toBe("10 Chorus 3");
  expect(facts.groups.map((group) => group.address)).toEqual([
    "pack/k10",
    "house-5/channel/2",
    "house-5/carrier/2",
    "house-5",
  ]);
  expect(setting(facts, "house-5", "lamp_level")?.value).toBe(3);
  expect(setting(facts, "pack/k10", "low_cut_hz")?.value).toBe(80);
});

test("a viewer may look and an operator may not retune", () => {
  const as = (...roles: string[]) => shown((picture) => ({ ...picture, person: { name: "p", roles } }));
  expect(setting(as("viewer"), "pack/k10", "low_cut_hz")?.locked).toContain("operator");
  expect(setting(as("viewer", "operator"), "pack/k10", "low_cut_hz")?.locked).toBe("");
  expect(setting(as("viewer", "operator"), "pack/k10", "frequency_hz")?.locked).toContain("engineer");
  expect(setting(as("viewer", "operator", "engineer"), "pack/k10", "frequency_hz")?.locked).toBe("");
});

test("a confirmation is news for a while, an open question for ever", () => {
  const confirmed = (age: number) =>
    shown(withCommand({ changes: { low_cut_hz: 80 }, state: "confirmed", changed_utc_us: NOW - age * 1e6 }));
  expect(setting(confirmed(5), "pack/k10", "low_cut_hz")?.command).not.toBeNull();
  expect(setting(confirmed(60), "pack/k10", "low_cut_hz")?.command).toBeNull();
  const unknown = shown(withCommand({ changes: { low_cut_hz: 80 }, state: "unknown", changed_utc_us: 0 }));
  expect(setting(unknown, "pack/k10", "low_cut_hz")?.command?.state).toBe("unknown");
});

test("a row whose receiver never described itself has no settings, and can be tried again once it is lost", () => {
  const facts = shown((picture) => {
    const devices = new Map(picture.devices);
    const device = devices.get("house-5");
    if (device === undefined) throw new Error("the fixture has no house-5");
    devices.set("house-5", { ...device, description: null, contact: { ...device.contact, state: "lost" } });
    return { ...picture, devices };
  });
  expect(facts.groups).toEqual([]);
  expect(facts.canRetry).toBe(true);
});
