import { expect, test } from "vitest";
import { plainDay } from "../../gallery/evening";
import { ternRock } from "../../gallery/tern_rock";
import { pictureOf } from "./picture";
import { rowsOf } from "./rows";

test("rows stand in the production's order with their wiring", () => {
  const rows = rowsOf(pictureOf(ternRock(1e15), null));
  expect(rows.map((row) => row.number)).toEqual(Array.from({ length: 24 }, (_, index) => index + 1));
  expect(rows[9]).toMatchObject({
    part: "Chorus 3",
    zone: "House",
    channel: "house-5/channel/2",
    deviceId: "house-5",
    carrier: "house-5/carrier/2",
    branches: ["house-5/carrier/2/branch/a", "house-5/carrier/2/branch/b"],
    pack: "pack/k10",
    simulated: true,
  });
});

test("without a production every channel has a row, by the name it was given", () => {
  const message = ternRock(1e15);
  const production = { name: "", zones: [], positions: [], ...plainDay };
  const rows = rowsOf(pictureOf({ ...message, snapshot: { ...message.snapshot, production } }, null));
  expect(rows).toHaveLength(24);
  expect(rows[0]).toMatchObject({
    number: 1,
    part: "Channel 1",
    zone: "",
    channel: "house-1/channel/1",
    pack: "pack/k01",
  });
});

test("a row whose receiver was never heard is there all the same", () => {
  const message = ternRock(1e15);
  const snapshot = { ...message.snapshot, devices: [] };
  const rows = rowsOf(pictureOf({ ...message, snapshot }, null));
  expect(rows).toHaveLength(24);
  expect(rows[0]).toMatchObject({ carrier: null, branches: [], simulated: false, deviceId: "house-1" });
});
