import { describe, expect, it } from "vitest";
import type { FoundCarrier, Scan, ScanFound } from "../protocol/model";
import { ageOf, besideOf, notKeptOut, OLD_AFTER_S, ownCarriers, roomOf } from "./scout_facts";
import { changeFindings, findingsOf, LINES_MOST } from "./scout_findings";
import { momentWords, scanAge } from "./scout_lines";

const scan: Scan = {
  scan_id: "house-left",
  place: "House left",
  taken_at_utc_us: 1e15,
  instrument: "house-1/carrier/1",
  source: "act",
  file: "",
  simulated: true,
  calibrated: true,
  bandwidth_hz: 100_000,
  sweeps: 1,
  words: "",
  start_hz: 470_050_000,
  step_hz: 100_000,
  maximum_dbm: new Array(100).fill(-105),
  median_dbm: [],
  occupancy: [],
};

function carrier(centre_hz: number, rest: Partial<FoundCarrier> = {}): FoundCarrier {
  const edges = { start_hz: centre_hz - 100_000, stop_hz: centre_hz + 100_000 };
  const level = { peak_hz: centre_hz, peak_dbm: -60, above_floor_db: 45, occupancy: 1 };
  return { centre_hz, ...edges, ...level, wide: false, block: "", ...rest };
}

const found: ScanFound = {
  scan_id: "house-left",
  region: "",
  threshold_db: 10,
  looks: null,
  floor: [{ frequency_hz: 470e6, floor_dbm: -105 }],
  carriers: [carrier(472e6), carrier(476e6, { block: "21" })],
  blocks: [],
  exclusions: [{ start_hz: 471_900_000, stop_hz: 472_100_000, words: "House left" }],
  words: [],
};

describe("room", () => {
  it("is what was scanned, less what is taken and what is kept out", () => {
    const kept = [{ start_hz: 479e6, stop_hz: 490e6, words: "" }];
    expect(roomOf(scan, found, kept, [])).toEqual([
      { fromHz: 470e6, toHz: 471_900_000 },
      { fromHz: 472_100_000, toHz: 479e6 },
    ]);
  });

  it("lies within the windows of the plan, and isn't too narrow for a carrier", () => {
    const windows = [{ fromHz: 471_800_000, toHz: 473e6 }];
    expect(roomOf(scan, found, [], windows)).toEqual([{ fromHz: 472_100_000, toHz: 473e6 }]);
  });

  it("isn't claimed before anybody knows what is there", () => {
    expect(roomOf(scan, null, [], [])).toEqual([]);
  });
});

describe("what is taken", () => {
  it("is proposed until the plan keeps it out, in one piece or in several", () => {
    expect(notKeptOut(found, [])).toEqual(found.exclusions);
    const halves = [
      { start_hz: 471_000_000, stop_hz: 472_000_000, words: "" },
      { start_hz: 472_000_000, stop_hz: 473_000_000, words: "" },
    ];
    expect(notKeptOut(found, halves)).toEqual([]);
    expect(notKeptOut(found, halves.slice(1))).toEqual(found.exclusions);
  });

  it("is marked where it stands alone, not where it is part of a broadcast", () => {
    const beside = besideOf({ blocks: [], own: [], room: [], windows: [] }, found, []);
    expect(beside.found).toEqual([{ hertz: 472e6, dbm: -60 }]);
    expect(beside.floor).toBe(found.floor);
  });
});

describe("own carriers", () => {
  const row = (number: number, address: string) => ({ number, carrier: address });
  const settings = new Map([
    ["house-1/carrier/1", { reported: { frequency_hz: 472_050_000 } }],
    ["house-1/carrier/2", { reported: { frequency_hz: 473e6 } }],
    ["house-2/carrier/1", { reported: { frequency_hz: 473e6 } }],
    ["house-3/carrier/1", { reported: {} }],
  ]);
  const rows = [...settings.keys()].map((address, index) => row(index + 1, address));

  it("are where the devices report to be, together where several share a frequency; what was heard there is told", () => {
    const own = ownCarriers({ settings } as never, rows as never, found.carriers);
    expect(own).toEqual([
      { hertz: 472_050_000, numbers: [1], label: "1", heard: true },
      { hertz: 473e6, numbers: [2, 3], label: "2 and 3", heard: false },
    ]);
  });
});

describe("the age of a scan", () => {
  const at = (seconds: number) => scan.taken_at_utc_us + seconds * 1e6;

  it("is printed in words, in days when it is days, and never negative", () => {
    expect(ageOf(scan, at(OLD_AFTER_S))).toBe(OLD_AFTER_S);
    expect(scanAge(scan, at(72))).toBe("1 min ago");
    expect(scanAge(scan, at(3 * 86_400))).toBe("3 days ago");
    expect(scanAge(scan, at(-60))).toBe("dated in the future");
  });

  it("comes with the date where it is of another day", () => {
    expect(momentWords(at(0), at(60))).toMatch(/^\d\d:\d\d$/);
    expect(momentWords(at(0), at(86_400))).toMatch(/^\d+ [A-Z][a-z]+, \d\d:\d\d$/);
  });
});

describe("findings", () => {
  it("say what stands out alone, and count what there is no room for", () => {
    const many = { ...found, carriers: Array.from({ length: LINES_MOST + 3 }, (_, index) => carrier(470e6 + index)) };
    expect(findingsOf(found).lines.map((line) => line.where)).toEqual(["472.000"]);
    expect(findingsOf(many)).toMatchObject({ more: "and 3 more" });
    expect(findingsOf(many).lines.length).toBe(LINES_MOST);
  });

  it("tell came from louder and went from quieter by more than their words", () => {
    const kinds = ["came", "louder", "quieter", "went"] as const;
    const changes = kinds.map((change) => ({
      start_hz: 472e6,
      stop_hz: 472.2e6,
      change,
      before_dbm: -105,
      after_dbm: -60,
      change_db: 45,
    }));
    const comparison = { before: "a", after: "b", start_hz: 0, step_hz: 1, difference_db: [], changes, words: [] };
    const { lines, sentences } = changeFindings({ ...comparison, floor_change_db: -3.2 });
    expect(lines.map(({ mark, strong }) => [mark, strong])).toEqual([
      ["up", true],
      ["up", false],
      ["down", false],
      ["down", true],
    ]);
    expect(sentences).toEqual(["The floor fell by 3 dB."]);
  });
});
