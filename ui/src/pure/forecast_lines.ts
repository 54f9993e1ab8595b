import type { Forecast } from "../protocol/model";

/** What a change does to one group: its worst carrier before and after, in dB over everything. */
export interface ForecastLine {
  readonly group: string;
  readonly frequencyHz: number;
  readonly beforeDb: number;
  readonly afterDb: number;
}

/** One line a group, by the carrier that stands worst after the change. */
export function forecastLines(forecast: Pick<Forecast, "carriers">): ForecastLine[] {
  const worst = new Map<string, ForecastLine>();
  for (const { group, frequency_hz, before, after } of forecast.carriers) {
    const known = worst.get(group);
    if (known !== undefined && known.afterDb <= after.over_all_db) continue;
    worst.set(group, {
      group,
      frequencyHz: frequency_hz,
      beforeDb: before.over_all_db,
      afterDb: after.over_all_db,
    });
  }
  return [...worst.values()];
}
