/** A peak that rises at once, is held for a second, then falls, so that the eye can catch it. */

const HELD_S = 1;
const FALL_DB_PER_S = 24;

export class HeldPeak {
  private level = Number.NaN;
  private reachedAt = 0;

  /** Takes the peak reported at `at` seconds. */
  take(at: number, peakDb: number): void {
    if (Number.isNaN(peakDb)) {
      this.level = Number.NaN;
      return;
    }
    const shown = this.shownAt(at);
    if (Number.isNaN(shown) || peakDb >= shown) {
      this.level = peakDb;
      this.reachedAt = at;
    }
  }

  /** The level to show at `at` seconds, NaN where there is none. */
  shownAt(at: number): number {
    const falling = Math.max(at - this.reachedAt - HELD_S, 0);
    return this.level - falling * FALL_DB_PER_S;
  }
}
