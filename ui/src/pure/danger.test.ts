import { expect, test } from "vitest";
import { dangerOf } from "./danger";

test("frequency, power, sleep and muting ask for a hold on every device", () => {
  const of = (field: string, value: boolean | number, mutes = false) => dangerOf({ field, mutes }, value);
  expect(of("frequency_hz", 5e8)).toBe("may lose the link");
  expect(of("rf_power_mw", 50)).toBe("changes reach");
  expect(of("standby", true)).toBe("silences");
  expect(of("standby", false)).toBe("wakes");
  expect(of("muted", true)).toBe("silences");
  expect(of("muted", false)).toBe("none");
  expect(of("low_cut_hz", 80)).toBe("none");
  expect(of("unheard_of", 1, true)).toBe("mutes");
});
