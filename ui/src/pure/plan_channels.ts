import type { PlanCarrier } from "../protocol/model";

interface Row {
  readonly channel: string;
  readonly number: number;
  readonly zone: string;
}

/** The carriers, each meant for a channel of its zone: the lowest for the first row; those beyond the rows for none. */
export function givenToChannels(carriers: readonly PlanCarrier[], rows: readonly Row[]): PlanCarrier[] {
  const waiting = new Map<string, string[]>();
  for (const { zone, channel } of [...rows].sort((one, other) => one.number - other.number)) {
    waiting.set(zone, [...(waiting.get(zone) ?? []), channel]);
  }
  const lowestFirst = [...carriers].sort((one, other) => one.frequency_hz - other.frequency_hz);
  const channels = new Map(lowestFirst.map((one) => [one, waiting.get(one.zone)?.shift() ?? null]));
  return carriers.map((one) => ({ ...one, channel: channels.get(one) ?? null }));
}
