import type { Store } from "../data/store";
import type { PartFacts, PartKeys, PartPicture } from "../elements/part";
import type { SheetFacts } from "../elements/sheet";
import type { DeviceDescription, DeviceView } from "../protocol/model";
import { ageWords } from "../pure/number_words";
import { type Part, partsOf } from "../pure/parts";
import { keyMatch } from "../pure/same_key";
import { words } from "../words/english";
import { sheetWords } from "../words/sheet_words";
import { type ActAnswers, actFacts } from "./act_facts";
import { deviceName } from "./names";
import { overviewOf } from "./overview_facts";
import { exactText, readingFacts } from "./reading_facts";
import { type Answers, controllerOf, guardOf, lockedDevice, settingGroup } from "./setting_facts";
import { partTitle } from "./thing_names";

/** What is looked at and what the screen knows beside the console's own picture. */
export interface SheetContext {
  readonly deviceId: string;
  readonly address: string;
  readonly answers: Answers;
  readonly acts: ActAnswers;
  readonly permitProblem: string;
  readonly journal: PartFacts["journal"];
  /** Seconds on the console's clock. */
  readonly now: number;
}

/** Everything that the sheet of a device shows, or null where the console doesn't watch it any more. */
export function sheetFacts(store: Store, context: SheetContext): SheetFacts | null {
  const picture = store.picture;
  const device = picture?.devices.get(context.deviceId);
  if (picture === null || device === undefined) return null;
  const { contact, description, unlocked } = device;
  const parts = description === null ? [] : partsOf(description);
  const looked = parts.find((part) => part.address === context.address) ?? parts[0];
  const { nowUtcUs } = context.answers;
  return {
    deviceId: device.device_id,
    name: deviceName(picture, device.device_id),
    what: whatWords(device),
    contact: sheetWords.contact.since(words.contactStates[contact.state], ageOf(contact.since_utc_us, nowUtcUs)),
    because: contact.reason,
    reports: contact.state === "fresh" || contact.state === "late",
    simulated: description?.simulated ?? false,
    readOnly: description?.read_only ?? false,
    through: contact.reached_through,
    lease: device.lease,
    guarded: isGuarded(description),
    unlocked,
    unlockedS: unlocked === null ? 0 : (unlocked.until_utc_us - nowUtcUs) / 1e6,
    engineer: picture.person.roles.includes("engineer"),
    permitProblem: context.permitProblem,
    parts: parts.map((part) => ({ address: part.address, title: partTitle(store, part), depth: part.depth })),
    part: looked === undefined || description === null ? null : partFacts(store, description, looked, context),
  };
}

function whatWords({ device_id, description }: DeviceView): string {
  if (description === null) return device_id;
  const known = sheetWords.kinds[description.kind];
  const kind = known ?? `${description.kind}, ${sheetWords.kindUnknown}`;
  return [kind, description.form, device_id].filter((part) => part !== "").join(" · ");
}

function ageOf(utcUs: number, nowUtcUs: number): string {
  return ageWords(Math.max(nowUtcUs - utcUs, 0) / 1e6);
}

function isGuarded(description: DeviceDescription | null): boolean {
  if (description === null) return false;
  return [...description.capabilities, ...description.acts].some((one) => one.guarded);
}

function partFacts(store: Store, description: DeviceDescription, part: Part, context: SheetContext): PartFacts {
  const picture = store.picture;
  const { place, address } = part;
  const own = picture?.devices.get(context.deviceId);
  const holder = picture === null ? own : controllerOf(picture, address, own);
  const title = partTitle(store, part);
  const name = picture === null ? context.deviceId : deviceName(picture, context.deviceId);
  const readings = readingFacts(store, place, address, context.now);
  return {
    address,
    title,
    target: place === "device" ? name : `${name}, ${title}`,
    saidLock: saidLock(own),
    journal: place === "device" ? context.journal : null,
    pictures: place === "device" ? picturesOf(store, description, context.now) : [],
    keys: place === "channel" || place === "pack" ? keysOf(store, description, part) : null,
    ...readings,
    settings: picture === null ? null : settingGroup(picture, holder, { place, address }, context.answers),
    acts: picture === null ? [] : actFacts(picture, holder, address, context.acts),
  };
}

/** What the sheet says of the whole device above its parts, so that no control need repeat it. */
function saidLock(device: DeviceView | undefined): string {
  return lockedDevice(device) || guardOf(device, { guarded: true });
}

function picturesOf(store: Store, description: DeviceDescription, now: number): PartPicture[] {
  const { bays, sockets, outputs, paths } = overviewOf(store, description, now);
  const { overview } = sheetWords;
  const pictures: PartPicture[] = [
    { heading: overview.bays, bays, lines: [] },
    { heading: overview.sockets, bays: [], lines: sockets },
    { heading: overview.paths, bays: [], lines: paths },
    { heading: overview.outputs, bays: [], lines: outputs },
  ];
  return pictures.filter((picture) => picture.bays.length + picture.lines.length > 0);
}

/** The fingerprints of both ends, where at least one of them is known. */
function keysOf(store: Store, description: DeviceDescription, part: Part): PartKeys | null {
  const channel =
    part.place === "channel" ? part.address : description.channels.find((one) => one.pack === part.address)?.address;
  const row = store.rows.find((one) => one.channel === channel || one.pack === part.address);
  const described = description.channels.find((one) => one.address === channel)?.pack ?? null;
  const pack = part.place === "pack" ? part.address : (row?.pack ?? described);
  const here = exactText(store, channel ?? row?.channel ?? "", "key_fingerprint");
  const there = exactText(store, pack ?? "", "key_fingerprint");
  if (here === undefined && there === undefined) return null;
  return { here: fingerprint(here), pack: fingerprint(there), match: keyMatch(here, there) };
}

function fingerprint(text: string | undefined): string {
  if (text === undefined) return sheetWords.keys.unknown;
  return text === "" ? sheetWords.keys.none : text;
}
