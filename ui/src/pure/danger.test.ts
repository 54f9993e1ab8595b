import { expect, test } from "vitest";
import { dangerOf } from "./danger";

test("frequency, power, sleep and muting ask for a hold on every device", () => {
  const of = (field: string, value: boolean | number, mutes = false) =>
    dangerOf({ field, mutes, guarded: false }, value);
  expect(of("frequency_hz", 5e8)).toBe("may lose the link");
  expect(of("rf_power_mw", 50)).toBe("changes reach");
  expect(of("standby", true)).toBe("silences");
  expect(of("standby", false)).toBe("wakes");
  expect(of("muted", true)).toBe("silences");
  expect(of("muted", false)).toBe("none");
  expect(of("low_cut_hz", 80)).toBe("none");
  expect(of("unheard_of", 1, true)).toBe("mutes");
});

test("voltages, encryption and what is guarded ask for a hold too", () => {
  const of = (field: string, value: boolean | string, guarded = false) =>
    dangerOf({ field, mutes: true, guarded }, value);
  expect(of("phantom", "48 V")).toBe("bangs");
  expect(of("feed_powered", true)).toBe("feeds");
  expect(of("encryption", true)).toBe("may lose the link");
  expect(of("rf_on", true)).toBe("wakes");
  expect(of("rf_on", true, true)).toBe("in an ear");
  expect(of("level_db", "3", true)).toBe("in an ear");
});
