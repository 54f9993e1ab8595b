import { expect, test } from "vitest";
import type { CarrierForecast, CarrierMargins } from "../protocol/model";
import { forecastLines } from "./forecast_lines";

const margins = (over_all_db: number): CarrierMargins => ({
  antenna: "House",
  level_dbm: -60,
  over_noise_db: 40,
  over_products_db: null,
  over_others_db: null,
  over_all_db,
  worst: null,
});
const carrier = (group: string, frequency_hz: number, before: number, after: number): CarrierForecast => ({
  group,
  zone: group,
  frequency_hz,
  gain_db: after - before,
  before: margins(before),
  after: margins(after),
});

test("each group is told by its carrier that stands worst afterwards", () => {
  const carriers = [carrier("House", 471, 20, 30), carrier("House", 472, 25, 22), carrier("Quay", 473, 10, 12)];
  expect(forecastLines({ carriers })).toEqual([
    { group: "House", frequencyHz: 472, beforeDb: 25, afterDb: 22 },
    { group: "Quay", frequencyHz: 473, beforeDb: 10, afterDb: 12 },
  ]);
});
