import { expect, test } from "vitest";
import { settingsPath } from "./commands";
import { launchToken } from "./session";

test("settings are found under their thing", () => {
  expect(settingsPath("pack/k01")).toBe("packs/k01/settings");
  expect(settingsPath("house-1")).toBe("devices/house-1/settings");
  expect(settingsPath("house-1/carrier/1")).toBe("devices/house-1/carriers/1/settings");
  expect(settingsPath("house-1/channel/2")).toBe("devices/house-1/channels/2/settings");
});

test("only a launch link has a token", () => {
  expect(launchToken("#launch=abc_DEF-1")).toBe("abc_DEF-1");
  for (const hash of ["", "#", "#launch=", "#launch=a b", "#other=abc"]) expect(launchToken(hash)).toBeNull();
});
