import type { Picture } from "../data/picture";
import type { DetailFacts, DetailMatter, SettingFacts, SettingGroup } from "../elements/detail";
import type { Capability, DeviceView, Place, SettingsView } from "../protocol/model";
import { Quality } from "../protocol/quality";
import { latestCommand } from "../pure/control_look";
import type { RowFacts } from "../pure/row";
import { words } from "../words/english";
import { evidenceWords } from "../words/evidence_words";
import { rowName, wordsOf } from "./names";

/** What somebody did on this screen that no message tells: refusals seen, requests the console would not take. */
export interface Answers {
  readonly dismissed: ReadonlySet<string>;
  /** By address and field. */
  readonly problems: ReadonlyMap<string, string>;
  /** The console's present time; what was confirmed long ago is no news any more. */
  readonly nowUtcUs: number;
}

const CONFIRMED_SHOWN_US = 20e6;

const ENGINEER_FIELDS: ReadonlySet<string> = new Set(["frequency_hz", "rf_power_mw", "standby"]);

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
    groups: addressesOf(row).flatMap(([place, address]) => groupOf(picture, device, place, address, answers)),
    matters: mattersOf(picture, rows, row),
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

function groupOf(
  picture: Picture,
  rowDevice: DeviceView | undefined,
  place: Place,
  address: string,
  answers: Answers,
): SettingGroup[] {
  const settings = picture.settings.get(address);
  const device = picture.devices.get(settings?.controlled_through ?? "") ?? rowDevice;
  const capabilities = device?.description?.capabilities.filter((one) => one.targets.includes(address)) ?? [];
  if (capabilities.length === 0) return [];
  const locked = device?.description?.read_only === true ? words.control.readOnly : "";
  return [
    {
      place,
      address,
      stale: settings !== undefined && settings.quality !== Quality.Good,
      settings: capabilities.map((one) => settingOf(picture, settings, one, { address, locked, answers })),
    },
  ];
}

interface Circumstances {
  readonly address: string;
  readonly locked: string;
  readonly answers: Answers;
}

function settingOf(
  picture: Picture,
  settings: SettingsView | undefined,
  capability: Capability,
  { address, locked, answers }: Circumstances,
): SettingFacts {
  const latest = latestCommand(picture.commands.values(), address, capability.field);
  const old = latest?.state === "confirmed" && answers.nowUtcUs - latest.changed_utc_us > CONFIRMED_SHOWN_US;
  const command = old ? null : latest;
  return {
    capability,
    value: settings?.reported[capability.field] ?? null,
    command,
    dismissed: command !== null && answers.dismissed.has(command.command_id),
    problem: answers.problems.get(`${address} ${capability.field}`) ?? "",
    locked: locked || roleWanting(picture, capability.field),
  };
}

function roleWanting(picture: Picture, field: string): string {
  const needed = ENGINEER_FIELDS.has(field) ? "engineer" : "operator";
  return picture.person.roles.includes(needed) ? "" : words.control.notAllowed(needed);
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
