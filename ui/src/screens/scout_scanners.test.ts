import { describe, expect, it } from "vitest";
import { scannersOf, stepsFor, usualSpan } from "./scout_scanners";

const schema = (parts: object = {}) => ({ minimum: null, maximum: null, multiple_of: null, enum: [], ...parts });
const scan = (targets: string[], rest: object = {}) => ({
  act: "scan",
  targets,
  mutes_for_ms: 0,
  arguments: [{ name: "step_hz", required: true, schema: schema({ minimum: 20_000, multiple_of: 5_000 }) }],
  ...rest,
});
const device = (device_id: string, acts: object[], capabilities: object[] = []) => [
  device_id,
  { device_id, description: { acts, capabilities } },
];
const tuned = {
  field: "frequency_hz",
  targets: ["house-1/carrier/1"],
  schema: schema({ minimum: 470e6, maximum: 516e6 }),
};
const picture = {
  settings: new Map([["house-1", { reported: { name: "House receiver 1" } }]]),
  devices: new Map([
    device("house-1", [scan(["house-1/carrier/1", "house-1/carrier/2"], { mutes_for_ms: 60_000 })], [tuned]),
    device("odd", [scan(["odd"], { arguments: [{ name: "antenna", required: true, schema: schema() }] })]),
    device("roof", [scan(["roof"])]),
    device("split", []),
  ] as never),
} as never;
const rows = [
  { number: 1, part: "Keeper", carrier: "house-1/carrier/1", spare: false },
  { number: 2, part: "Spare", carrier: "house-1/carrier/2", spare: true },
] as never;

describe("what can scan", () => {
  const scanners = scannersOf(picture, rows);

  it("is what needs to be told no more than where; first what does nothing else, then spares", () => {
    expect(scanners.map((one) => one.name)).toEqual([
      "roof",
      "House receiver 1, 2 Spare",
      "House receiver 1, 1 Keeper",
    ]);
  });

  it("scans what was scanned last, else what it can be tuned over, else the usual band", () => {
    const last = { fromHz: 1, toHz: 2 };
    expect(usualSpan(scanners[1], last)).toBe(last);
    expect(usualSpan(scanners[2], null)).toEqual({ fromHz: 470e6, toHz: 516e6 });
    expect(usualSpan(scanners[0], null)).toEqual({ fromHz: 470e6, toHz: 694e6 });
  });

  it("goes in steps that the device knows, and in no more points than are kept", () => {
    expect(stepsFor(scanners[0], { fromHz: 470e6, toHz: 494e6 })).toEqual([25_000, 50_000, 100_000]);
    expect(stepsFor(scanners[0], { fromHz: 0, toHz: 1e9 })).toEqual([100_000]);
    expect(stepsFor(scanners[0], { fromHz: 0, toHz: 9e9 })).toEqual([]);
  });
});
