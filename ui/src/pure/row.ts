import type { Reading } from "./reading";
import type { RowState } from "./row_state";

/** What stands fast about a row: who it is and where it is heard. */
export interface RowFacts {
  readonly channel: string;
  readonly number: number;
  readonly part: string;
  /** Empty where the production names none. */
  readonly zone: string;
  readonly pack: string | null;
  readonly spare: boolean;
  readonly deviceId: string;
  readonly carrier: string | null;
  readonly branches: readonly string[];
  readonly simulated: boolean;
}

export interface LiveBranch {
  readonly label: string;
  readonly level: Reading;
  readonly deaf: boolean;
}

/** What moves in a row, as it stands at one moment. */
export interface LiveRow {
  readonly state: RowState;
  /** Age of the last report of the row's receiver in seconds, Infinity when never. */
  readonly silentS: number;
  /** Age of the youngest fast value in seconds, Infinity when there is none. */
  readonly valueAgeS: number;
  readonly lastSeenUtcUs: number | null;
  readonly branches: readonly LiveBranch[];
  /** The level of the better branch. */
  readonly better: Reading;
  readonly peak: Reading;
  /** Whether the peak is in dBu, at an analog output, and not in dBFS. */
  readonly analog: boolean;
  readonly damage: Reading;
  /** A code, or empty where none is known. */
  readonly audioState: string;
  /** The pack's own switch as a code, or empty where none is known. */
  readonly packSwitch: string;
  readonly minutes: Reading;
  readonly fraction: Reading;
}
