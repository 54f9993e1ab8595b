import type { Store } from "../data/store";
import type { FootFacts } from "../elements/foot";
import { ageWords, clockWords } from "../pure/number_words";
import { countStates } from "../pure/row_state";
import { words } from "../words/english";

/** What the foot says at `now` seconds; its counts are taken from the rows themselves. */
export function footFacts(store: Store, now: number): FootFacts | null {
  const picture = store.picture;
  if (picture === null) return null;
  const contacts = [...picture.devices.values()]
    .map((device) => device.contact)
    .filter((contact) => contact.state !== "removed");
  const live = store.rows.map((row) => store.live(row, now));
  const oldest = Math.max(...live.map((row) => row.valueAgeS).filter(Number.isFinite), Number.NEGATIVE_INFINITY);
  const reports = contacts.filter((contact) => contact.state === "fresh" || contact.state === "late");
  const { journal } = picture;
  return {
    devices: contacts.length,
    reporting: store.link.state === "live" ? reports.length : 0,
    channels: store.rows.length,
    states: countStates(live.map((row) => row.state)),
    oldest: Number.isFinite(oldest) ? ageWords(oldest) : "",
    written: journal.written_utc_us === null ? "" : clockWords(journal.written_utc_us),
    failing: journal.writable ? "" : journal.reason || words.foot.cantWrite,
    waiting: journal.waiting,
  };
}
