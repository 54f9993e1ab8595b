import { expect, test } from "vitest";
import { givenToChannels } from "./plan_channels";

const carrier = (zone: string, frequency_hz: number) => ({
  group: zone,
  zone,
  frequency_hz,
  locked: false,
  channel: null,
});
const row = (number: number, zone: string) => ({ number, zone, channel: `${zone}/channel/${number}` });

test("carriers go to the rows of their zone, the lowest first, and those beyond them to none", () => {
  const carriers = [carrier("house", 472), carrier("quay", 470), carrier("house", 471), carrier("quay", 473)];
  const given = givenToChannels(carriers, [row(2, "house"), row(1, "house"), row(3, "quay")]);
  expect(given.map((one) => one.channel)).toEqual(["house/channel/2", "quay/channel/3", "house/channel/1", null]);
});
