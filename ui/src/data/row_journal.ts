import type { RecordedEvent } from "../protocol/events";
import { eventAddress } from "../pure/event_address";
import type { RowFacts } from "../pure/row";
import { journalOf } from "./commands";

const SHOWN = 100;

/** What the journal says of a row: its channel, carrier, pack and receiver. Newest first; null when it can't be read. */
export async function rowJournal(row: RowFacts, sequence: number): Promise<readonly RecordedEvent[] | null> {
  const asked = row.pack === null ? [row.deviceId] : [row.deviceId, row.pack];
  const answers = await Promise.all(asked.map((address) => journalOf(address, sequence)));
  const own = new Set([row.deviceId, row.channel, row.carrier, row.pack, ...row.branches]);
  const events: RecordedEvent[] = [];
  for (const answer of answers) {
    if (!answer.ok) return null;
    events.push(...answer.value.filter((event) => own.has(eventAddress(event))));
  }
  return events.sort((a, b) => b.sequence - a.sequence).slice(0, SHOWN);
}
