import type { Incident } from "../pure/stripes";

/** Damage that pauses for less than this is one incident. */
const ONE_INCIDENT_S = 0.5;
const INCIDENTS_KEPT = 2000;
/** Damage in cells of the recent past that are wider than this has no length worth saying. */
const SURE_S = 1;

interface Damage {
  readonly channel: string;
  readonly at: number;
  until: number;
  /** Whether its length is known, and not only the cell it fell into. */
  readonly sure: boolean;
}

/** Damage to the audio of all rows, for the stripes. The oldest is forgotten beyond 2,000. */
export class Damages {
  private known: Damage[] = [];

  /** Damage that a frame told of the moment `at`. */
  note(channel: string, at: number): void {
    const running = this.known.findLast((one) => one.channel === channel);
    if (running?.sure === true && at - running.until <= ONE_INCIDENT_S) running.until = at;
    else this.keep({ channel, at, until: at, sure: true });
  }

  /** Damage in the recent past, unless frames told of it already. */
  notePast(channel: string, at: number, until: number): void {
    const told = this.known.some((one) => one.channel === channel && one.until >= at && one.at <= until);
    if (!told) this.keep({ channel, at, until, sure: until - at < SURE_S });
  }

  /** All of it, by the place of each channel among the given ones. */
  incidents(channels: readonly string[]): Incident[] {
    const place = new Map(channels.map((channel, index) => [channel, index]));
    return this.known.flatMap(({ channel, at, until, sure }) => {
      const row = place.get(channel);
      return row === undefined ? [] : [{ row, at, seconds: sure ? Math.max(until - at, 0.1) : Number.NaN }];
    });
  }

  private keep(damage: Damage): void {
    this.known.push(damage);
    if (this.known.length > INCIDENTS_KEPT) this.known = this.known.slice(-INCIDENTS_KEPT / 2);
  }
}
