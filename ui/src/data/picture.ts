import type { RecordedEvent, ZoneWriterChanged } from "../protocol/events";
import type { LiveMessage, SnapshotMessage } from "../protocol/live";
import type {
  Ahead,
  Alarm,
  Command,
  DeviceView,
  JournalStatus,
  Matter,
  Origin,
  PersonView,
  Production,
  ProgressView,
  SettingsView,
  ZoneWriter,
} from "../protocol/model";
import { assignSlots, NO_SLOTS, type Slots } from "../pure/slots";

type Exact = Readonly<Record<string, boolean | number | string>>;

/** Everything the screen knows but readings. Never changed in place: each message makes the next picture. */
export interface Picture {
  readonly epoch: number;
  readonly sequence: number;
  readonly person: PersonView;
  readonly version: string;
  readonly production: Production;
  readonly productionRevision: number;
  readonly ahead: Ahead;
  readonly devices: ReadonlyMap<string, DeviceView>;
  readonly settings: ReadonlyMap<string, SettingsView>;
  readonly exact: ReadonlyMap<string, Exact>;
  readonly commands: ReadonlyMap<string, Command>;
  /** How far acts under way are, by command. */
  readonly progress: ReadonlyMap<string, ProgressView>;
  readonly alarms: ReadonlyMap<string, Alarm>;
  readonly matters: readonly Matter[];
  readonly slots: Slots;
  readonly journal: JournalStatus;
  /** Who alone writes in a zone, by zone. */
  readonly zones: ReadonlyMap<string, ZoneWriter>;
}

/** At most so many commands are kept, the oldest that are over going first. */
export const COMMANDS_KEPT = 500;

/** The picture of a snapshot. Matters shown before keep their slots. */
export function pictureOf(message: SnapshotMessage, before: Picture | null): Picture {
  const { snapshot } = message;
  return {
    epoch: snapshot.epoch,
    sequence: snapshot.sequence,
    person: message.person,
    version: message.version,
    production: snapshot.production,
    productionRevision: snapshot.production_revision,
    ahead: snapshot.ahead,
    devices: new Map(snapshot.devices.map((device) => [device.device_id, device])),
    settings: new Map(snapshot.settings.map((settings) => [settings.address, settings])),
    exact: new Map(Object.entries(snapshot.exact)),
    commands: new Map(snapshot.commands.map((command) => [command.command_id, command])),
    progress: new Map(),
    alarms: new Map(snapshot.alarms.map((alarm) => [alarm.alarm_id, alarm])),
    matters: snapshot.matters,
    slots: assignSlots(before?.slots ?? NO_SLOTS, snapshot.matters),
    journal: snapshot.journal,
    zones: new Map(snapshot.zones.map((writer) => [writer.zone, writer])),
  };
}

/** The picture after a message that isn't a snapshot; the same picture where the message changes nothing in it. */
export function afterMessage(picture: Picture, message: LiveMessage): Picture {
  switch (message.type) {
    case "snapshot":
      return pictureOf(message, picture);
    case "events":
      return message.events.reduce(afterEvent, picture);
    case "exact":
      return { ...picture, exact: mergedExact(picture.exact, message.values) };
    case "progress":
      return { ...picture, progress: new Map([...picture.progress, ...Object.entries(message.progress)]) };
    case "matters":
      return { ...picture, matters: message.matters, slots: assignSlots(picture.slots, message.matters) };
    case "ahead":
      return { ...picture, ahead: message.ahead };
    case "journal":
      return { ...picture, journal: message.journal };
    case "settings": {
      const fresh = message.settings.map((settings) => [settings.address, settings] as const);
      return { ...picture, settings: new Map([...picture.settings, ...fresh]) };
    }
    case "tables":
    case "readings":
    case "bye":
      return picture;
  }
}

function afterEvent(picture: Picture, event: RecordedEvent): Picture {
  if (event.sequence <= picture.sequence) return picture;
  const next = { ...picture, sequence: event.sequence };
  switch (event.kind) {
    case "contact changed":
      return { ...next, devices: withContact(picture.devices, event.contact) };
    case "device described":
      return { ...next, devices: described(picture.devices, event.description) };
    case "command changed":
      return {
        ...next,
        commands: withCommand(picture.commands, event.command),
        progress: withoutEnded(picture.progress, event.command),
      };
    case "guard changed":
      return { ...next, devices: changedDevice(picture.devices, event.device_id, { unlocked: event.unlocked }) };
    case "lease changed":
      return { ...next, devices: changedDevice(picture.devices, event.device_id, { lease: event.lease }) };
    case "alarm changed":
      return { ...next, alarms: new Map(picture.alarms).set(event.alarm.alarm_id, event.alarm) };
    case "settings changed":
    case "document applied":
    case "notice received":
    case "journal gap":
    case "show moved":
    case "person changed":
    case "session opened":
    case "session ended":
    case "token made":
    case "token revoked":
    case "retune changed":
    case "console started":
      return next;
    case "zone writer changed":
      return { ...next, zones: afterZone(picture.zones, event) };
  }
}

function afterZone(zones: Picture["zones"], event: ZoneWriterChanged): Picture["zones"] {
  const next = new Map(zones);
  if (event.writer === null) next.delete(event.zone);
  else next.set(event.zone, event.writer);
  return next;
}

type Devices = ReadonlyMap<string, DeviceView>;

function withContact(devices: Devices, contact: DeviceView["contact"]): Devices {
  const origin: Origin = "unknown";
  const unknown = { device_id: contact.device_id, description: null, lease: null, unlocked: null, origin };
  const before = devices.get(contact.device_id) ?? unknown;
  return new Map(devices).set(contact.device_id, { ...before, contact });
}

function described(devices: Devices, description: NonNullable<DeviceView["description"]>): Devices {
  const replayed = devices.get(description.device_id)?.origin === "replayed";
  const origin: Origin = replayed ? "replayed" : description.simulated ? "simulated" : "real";
  return changedDevice(devices, description.device_id, { description, origin });
}

/** A device that was never heard of stays unknown: its contact comes first. */
function changedDevice(devices: Devices, deviceId: string, change: Partial<DeviceView>): Devices {
  const before = devices.get(deviceId);
  return before === undefined ? devices : new Map(devices).set(deviceId, { ...before, ...change });
}

function withCommand(commands: Picture["commands"], command: Command): Picture["commands"] {
  const next = new Map(commands);
  next.delete(command.command_id);
  next.set(command.command_id, command);
  for (const [id, old] of next) {
    if (next.size <= COMMANDS_KEPT) break;
    if (isOver(old)) next.delete(id);
  }
  return next;
}

function withoutEnded(progress: Picture["progress"], command: Command): Picture["progress"] {
  if (!isOver(command) || !progress.has(command.command_id)) return progress;
  return new Map([...progress].filter(([id]) => id !== command.command_id));
}

const OVER: ReadonlySet<Command["state"]> = new Set([
  "confirmed",
  "refused",
  "partly done",
  "superseded",
  "cancelled",
  "expired",
  "not applied",
  "closed",
]);

/** Whether nothing can happen to a command any more. */
export function isOver(command: Command): boolean {
  return OVER.has(command.state);
}

function mergedExact(
  before: Picture["exact"],
  values: Readonly<Record<string, Readonly<Record<string, boolean | number | string | null>>>>,
): Picture["exact"] {
  const next = new Map(before);
  for (const [address, changes] of Object.entries(values)) {
    const kept = Object.entries({ ...next.get(address), ...changes }).filter(([, value]) => value !== null);
    next.set(address, Object.fromEntries(kept) as Exact);
  }
  return next;
}
