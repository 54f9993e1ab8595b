import type { Picture } from "../data/picture";
import type { DetailFacts, DetailMatter, NearThing } from "../elements/detail";
import type { Place } from "../protocol/model";
import type { RowFacts } from "../pure/row";
import { evidenceWords } from "../words/evidence_words";
import { sheetWords } from "../words/sheet_words";
import { rowName, wordsOf } from "./names";
import { type Answers, controllerOf, settingGroup } from "./setting_facts";

export type { Answers } from "./setting_facts";

/** What a row unfolds. */
export function detailFacts(
  picture: Picture,
  rows: readonly RowFacts[],
  row: RowFacts,
  answers: Answers,
  journal: DetailFacts["journal"],
): DetailFacts {
  const device = picture.devices.get(row.deviceId);
  return {
    target: rowName(row),
    groups: addressesOf(row).flatMap(
      ([place, address]) =>
        settingGroup(picture, controllerOf(picture, address, device), { place, address }, answers) ?? [],
    ),
    matters: mattersOf(picture, rows, row),
    things: nearThings(picture, row),
    journal,
    canRetry: device !== undefined && device.contact.state !== "fresh" && device.contact.state !== "late",
  };
}

function addressesOf(row: RowFacts): [Place, string][] {
  const addresses: [Place, string | null][] = [
    ["pack", row.pack],
    ["channel", row.channel],
    ["carrier", row.carrier],
    ["device", row.deviceId],
  ];
  return addresses.filter((entry): entry is [Place, string] => entry[1] !== null);
}

/** What hangs together with a row and has a sheet: its receiver, what splits its antennas, whoever controls its pack. */
function nearThings(picture: Picture, row: RowFacts): NearThing[] {
  const things: NearThing[] = [{ address: row.deviceId, deviceId: row.deviceId, words: sheetWords.things.receiver }];
  const path = picture.production.antenna_paths.find(
    (one) => one.input !== null && one.branches.some((branch) => row.branches.includes(branch)),
  );
  const distribution = path?.input?.split("/")[0];
  if (path?.input && distribution !== undefined && picture.devices.has(distribution)) {
    things.push({ address: path.input, deviceId: distribution, words: sheetWords.things.distribution });
  }
  if (row.pack !== null) {
    const holder = controllerOf(picture, row.pack)?.device_id ?? row.deviceId;
    things.push({ address: row.pack, deviceId: holder, words: sheetWords.things.pack });
  }
  return things;
}

function mattersOf(picture: Picture, rows: readonly RowFacts[], row: RowFacts): DetailMatter[] {
  const touching = picture.matters.filter((matter) => matter.rows.includes(row.channel));
  return touching.map((matter) => ({
    matterId: matter.matter_id,
    words: wordsOf(picture, rows, matter),
    evidence: evidenceWords(matter.evidence),
    acknowledged: matter.acknowledged,
  }));
}
