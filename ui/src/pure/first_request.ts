import { ANALOG_PROFILE, EMPTY_REQUEST, type PlanRequest } from "./plan_request";
import type { Span } from "./spectrum";

/** Spares are a tenth of what is on air, and two at the least (common practice). */
const SPARES_SHARE = 0.1;
const SPARES_LEAST = 2;

interface Placed {
  readonly zone: string;
  readonly spare: boolean;
}

/** What a plan asks for before anybody has said more: a carrier for every part of the production, zone by zone. */
export function firstRequest(positions: readonly Placed[], within: Span, elsewhere: string): PlanRequest {
  const zones = new Map<string, number>();
  for (const { zone, spare } of positions) {
    if (!spare) zones.set(zone || elsewhere, (zones.get(zone || elsewhere) ?? 0) + 1);
  }
  const { raster_hz } = EMPTY_REQUEST;
  const start_hz = Math.ceil(within.fromHz / raster_hz) * raster_hz;
  const stop_hz = Math.floor(within.toHz / raster_hz) * raster_hz;
  const counted = zones.size === 0 ? [[elsewhere, 1] as const] : [...zones];
  return {
    ...EMPTY_REQUEST,
    window: [{ start_hz, stop_hz }],
    profile: [ANALOG_PROFILE],
    group: counted.map(([zone, count]) => ({
      name: zone,
      zone,
      profile: ANALOG_PROFILE.name,
      count,
      spares: Math.max(Math.ceil(count * SPARES_SHARE), SPARES_LEAST),
      kind: "microphone",
      tuning: "",
      fixed_hz: [],
      locked_hz: [],
    })),
  };
}
