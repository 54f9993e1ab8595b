import type { Capability } from "../protocol/model";
import { sameValue } from "./same_value";

type Value = boolean | number | string;

/** The settings that an address has now. */
export type SettingsOf = (address: string) => Readonly<Record<string, Value>>;

/**
 * The capability that holds now of those that stand for one setting of `target`, or null: it isn't there now.
 *
 * The same rule as the console's own: the first whose conditions all hold by the reported settings.
 */
export function inForce(candidates: readonly Capability[], target: string, settingsOf: SettingsOf): Capability | null {
  const holds = (one: Capability) =>
    one.when.every((condition) => {
      const reported = settingsOf(condition.address || target)[condition.field];
      return reported !== undefined && condition.values.some((value) => sameValue(value, reported));
    });
  return candidates.find(holds) ?? null;
}

/** The capabilities in force for an address, one a setting, in the order in which the device names them. */
export function settingsInForce(
  capabilities: readonly Capability[],
  target: string,
  settingsOf: SettingsOf,
): Capability[] {
  const byField = new Map<string, Capability[]>();
  for (const one of capabilities) {
    if (!one.targets.includes(target)) continue;
    const known = byField.get(one.field);
    if (known === undefined) byField.set(one.field, [one]);
    else known.push(one);
  }
  return [...byField.values()].flatMap((candidates) => inForce(candidates, target, settingsOf) ?? []);
}
