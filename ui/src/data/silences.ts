import type { Incident } from "../pure/stripes";

const SILENCES_KEPT = 2000;
/** Two tellings of one silence differ by no more than this. */
const SAME_S = 2;

interface Silence {
  readonly channel: string;
  readonly at: number;
  readonly until: number;
}

/** Times without report that are over, for the stripes. The oldest is forgotten beyond 2,000. */
export class Silences {
  private known: Silence[] = [];

  /** A row reported again at `until`, for the first time since `at`. */
  note(channel: string, at: number, until: number): void {
    const told = this.known.some((one) => one.channel === channel && Math.abs(one.at - at) <= SAME_S);
    if (told) return;
    this.known.push({ channel, at, until });
    if (this.known.length > SILENCES_KEPT) this.known = this.known.slice(-SILENCES_KEPT / 2);
  }

  /** All of them, by the place of each channel among the given ones. */
  incidents(channels: readonly string[]): Incident[] {
    const place = new Map(channels.map((channel, index) => [channel, index]));
    return this.known.flatMap(({ channel, at, until }) => {
      const row = place.get(channel);
      return row === undefined ? [] : [{ row, at, seconds: until - at }];
    });
  }
}
