import type { PlanRequest } from "./plan_request";

/** How well two zones are isolated: in dB, null for completely, undefined where they hear one another. */
export function isolationBetween(
  request: PlanRequest,
  [one, other]: readonly [string, string],
): number | null | undefined {
  const found = request.isolation.find(({ zones }) => zones.includes(one) && zones.includes(other));
  return found === undefined ? undefined : (found.isolation_db ?? null);
}

/** The request with another isolation between two zones; undefined lets them hear one another again. */
export function withIsolation(
  request: PlanRequest,
  zones: readonly [string, string],
  isolation: number | null | undefined,
): PlanRequest {
  const others = request.isolation.filter((one) => !(one.zones.includes(zones[0]) && one.zones.includes(zones[1])));
  if (isolation === undefined) return { ...request, isolation: others };
  return { ...request, isolation: [...others, { zones, isolation_db: isolation }] };
}
