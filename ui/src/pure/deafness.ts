/** Which branches of a row are deaf: far below the better one, and for long enough that it is no fade. */

/** Common practice, the same as the console's recent past. */
export const DEAF_BELOW_DB = 20;
export const DEAF_AFTER_S = 1;

export class Deafness {
  private since: number[] = [];
  /** A bit for each branch that is deaf, the first branch lowest. */
  bits = 0;

  /** Takes the levels of all branches at `at` seconds, NaN for absent. */
  take(at: number, levels: readonly number[], best: number): void {
    this.bits = 0;
    for (const [index, level] of levels.entries()) {
      const since = this.since[index] ?? Number.NaN;
      const far = best - level > DEAF_BELOW_DB;
      this.since[index] = far ? (Number.isNaN(since) ? at : since) : Number.NaN;
      if (far && at - (this.since[index] ?? at) >= DEAF_AFTER_S) this.bits |= 1 << index;
    }
  }
}
