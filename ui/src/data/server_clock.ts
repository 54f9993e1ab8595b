/** The console's clock, as the frames tell it. Delay only ever makes a frame look older, so the youngest look rules. */

const WINDOW = 64;

export class ServerClock {
  private leads: number[] = [];
  private lead = Number.NaN;
  private shiftUs = Number.NaN;
  private baseUs = Number.NaN;

  /** Begins anew with a connection: the console may have been restarted, with another monotonic scale. */
  begin(utcUs: number, monotonicUs: number, localMs: number): void {
    if (Number.isNaN(this.baseUs)) this.baseUs = Math.floor(utcUs / 1e6 - 20_000) * 1e6;
    this.shiftUs = utcUs - monotonicUs - this.baseUs;
    this.leads = [];
    this.take(monotonicUs, localMs);
  }

  /** Takes the time of a frame that arrived at `localMs` of this page's own monotonic clock. */
  take(monotonicUs: number, localMs: number): void {
    this.leads.push(this.shiftUs + monotonicUs - localMs * 1000);
    if (this.leads.length > WINDOW) this.leads.shift();
    this.lead = Math.max(...this.leads);
  }

  get begun(): boolean {
    return !Number.isNaN(this.lead);
  }

  /** A frame's time in seconds on the scale of the strands. */
  secondsOf(monotonicUs: number): number {
    return (this.shiftUs + monotonicUs) / 1e6;
  }

  /** The console's present time in seconds on the scale of the strands. */
  seconds(localMs: number): number {
    return (localMs * 1000 + this.lead) / 1e6;
  }

  /** UTC microseconds of a moment on the scale of the strands. */
  utcUs(seconds: number): number {
    return this.baseUs + seconds * 1e6;
  }

  /** A UTC moment on the scale of the strands. */
  secondsOfUtc(utcUs: number): number {
    return (utcUs - this.baseUs) / 1e6;
  }
}
