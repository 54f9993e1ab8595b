import type { Picture } from "../data/picture";
import type { SettingFacts, SettingGroup } from "../elements/settings";
import type { Capability, DeviceView, Place, SettingsView } from "../protocol/model";
import { Quality } from "../protocol/quality";
import { latestCommand } from "../pure/control_look";
import { settingsInForce } from "../pure/in_force";
import { words } from "../words/english";
import { sheetWords } from "../words/sheet_words";

/** What somebody did on this screen that no message tells: refusals seen, requests the console would not take. */
export interface Answers {
  readonly dismissed: ReadonlySet<string>;
  /** By address and field. */
  readonly problems: ReadonlyMap<string, string>;
  /** The console's present time; what was confirmed long ago is no news any more. */
  readonly nowUtcUs: number;
}

const CONFIRMED_SHOWN_US = 20e6;

const ENGINEER_FIELDS: ReadonlySet<string> = new Set(["frequency_hz", "rf_power_mw", "rf_on", "standby", "encryption"]);

/** The device that holds the settings of an address: of those that describe them, the one it is controlled through. */
export function controllerOf(picture: Picture, address: string, otherwise?: DeviceView): DeviceView | undefined {
  return picture.devices.get(picture.settings.get(address)?.controlled_through ?? "") ?? otherwise;
}

/** The settings that are there for an address as things are, or null where there are none. */
export function settingGroup(
  picture: Picture,
  device: DeviceView | undefined,
  thing: { readonly place: Place; readonly address: string },
  answers: Answers,
): SettingGroup | null {
  const { place, address } = thing;
  const settings = picture.settings.get(address);
  const reported = (of: string) => picture.settings.get(of)?.reported ?? {};
  const capabilities = settingsInForce(device?.description?.capabilities ?? [], address, reported);
  if (capabilities.length === 0) return null;
  const locked = lockedDevice(device);
  return {
    place,
    address,
    stale: settings !== undefined && settings.quality !== Quality.Good,
    settings: capabilities.map((one) => settingOf(picture, settings, one, { address, device, locked, answers })),
  };
}

interface Circumstances {
  readonly address: string;
  readonly device: DeviceView | undefined;
  readonly locked: string;
  readonly answers: Answers;
}

function settingOf(
  picture: Picture,
  settings: SettingsView | undefined,
  capability: Capability,
  { address, device, locked, answers }: Circumstances,
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
    locked: locked || guardOf(device, capability) || roleWanting(picture, capability.field),
  };
}

/** Why nothing of a device may be changed from here, or empty. */
export function lockedDevice(device: DeviceView | undefined): string {
  if (device?.description?.read_only === true) return words.control.readOnly;
  const lease = device?.lease ?? null;
  return lease === null || lease.ours ? "" : sheetWords.lease.locked;
}

/** Why a guarded thing may not be touched now, or empty. */
export function guardOf(device: DeviceView | undefined, { guarded }: { readonly guarded: boolean }): string {
  return guarded && (device?.unlocked ?? null) === null ? sheetWords.guard.needs : "";
}

function roleWanting(picture: Picture, field: string): string {
  const needed = ENGINEER_FIELDS.has(field) ? "engineer" : "operator";
  return picture.person.roles.includes(needed) ? "" : words.control.notAllowed(needed);
}
