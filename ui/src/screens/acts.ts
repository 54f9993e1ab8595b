import { acknowledge, cancelCommand, changeSettings, closeCommand, type Outcome, retryDevice } from "../data/commands";
import type { Store } from "../data/store";
import type { Capability, Problem } from "../protocol/model";
import { words } from "../words/english";
import { valueWords } from "../words/value_words";
import { deviceName } from "./names";

type Value = boolean | number | string;

/** What somebody did in a control of the detail. */
export interface SettingAct {
  readonly act: "set" | "cancel" | "close" | "dismiss";
  readonly address: string;
  readonly field: string;
  readonly commandId: string;
  readonly value?: Value;
}

/** Asks for a setting to change; gives the words of the problem, or an empty text when it was taken. */
export async function setValue(store: Store, address: string, field: string, value: Value): Promise<string> {
  const settings = store.picture?.settings.get(address);
  if (settings === undefined) return words.detail.noSettings;
  const answer = await changeSettings(address, settings.revision, { [field]: value }, crypto.randomUUID());
  return answer.ok ? "" : problemOf(answer.problem, field, capabilityOf(store, address, field));
}

/** Gives up, or closes, a command; gives the words of the problem, or an empty text. */
export async function endCommand(act: "cancel" | "close", commandId: string): Promise<string> {
  const answer =
    act === "cancel" ? await cancelCommand(commandId) : await closeCommand(commandId, words.control.closeReason);
  return plainProblem(answer);
}

/** Acknowledges alarms; gives what to say about it. */
export async function acknowledgeAlarms(alarmIds: readonly string[]): Promise<string> {
  if (alarmIds.length === 0) return words.acks.nothing;
  const problem = plainProblem(await acknowledge(alarmIds));
  return problem === "" ? words.acks.done : words.acks.failed(problem);
}

/** Asks the console to try a device at once; gives what to say about it. */
export async function tryDevice(store: Store, deviceId: string): Promise<string> {
  const picture = store.picture;
  const contact = picture?.devices.get(deviceId)?.contact.state;
  if (picture === null || contact === "fresh" || contact === "late") return words.acks.nothingLost;
  const problem = plainProblem(await retryDevice(deviceId));
  return problem === "" ? words.acks.retrying(deviceName(picture, deviceId)) : words.acks.failed(problem);
}

function plainProblem(answer: Outcome<unknown>): string {
  if (answer.ok) return "";
  return answer.problem === null ? words.acks.noAnswer : answer.problem.detail || answer.problem.title;
}

/** Why the console would not take a request, in its words or for want of an answer; empty when it did. */
export function requestProblem(answer: Outcome<unknown>): string {
  if (answer.ok) return "";
  if (answer.problem === null) return words.control.failed;
  const { status, needed_role, detail, title } = answer.problem;
  return status === 403 && needed_role ? words.control.notAllowed(needed_role) : detail || title;
}

function problemOf(problem: Problem | null, field: string, capability: Capability | null): string {
  if (problem === null) return words.control.failed;
  const current = problem.current?.values[field];
  if (problem.status === 412 && capability !== null && current !== undefined) {
    return words.control.stale(valueWords(current as Value, capability));
  }
  if (problem.status === 403 && problem.needed_role) return words.control.notAllowed(problem.needed_role);
  return problem.detail || problem.title;
}

function capabilityOf(store: Store, address: string, field: string): Capability | null {
  for (const device of store.picture?.devices.values() ?? []) {
    const found = device.description?.capabilities.find((one) => one.field === field && one.targets.includes(address));
    if (found !== undefined) return found;
  }
  return null;
}
