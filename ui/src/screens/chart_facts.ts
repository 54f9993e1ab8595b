import type { ClosedStretch, FieldFacts, LanesFacts, Mast, MastLook } from "../plots/lanes";
import type { LitProducts } from "../plots/products";
import type { PlanCarrier, PlanSpare } from "../protocol/model";
import { madeProducts } from "../pure/made_products";
import { groupNamed, hears, type PlanRequest, profileOf, together, widestGuard, zonesOf } from "../pure/plan_request";
import type { Span } from "../pure/spectrum";
import { chartWords } from "../words/chart_words";

/** What the lanes show of a plan. */

/** What stands, or would. */
export interface Standing {
  readonly carriers: readonly PlanCarrier[];
  readonly spares: readonly PlanSpare[];
}

const LEAST_MARGIN_HZ = 500_000;
const MARGIN_SHARE = 0.03;
const WITHOUT_WINDOWS: Span = { fromHz: 470e6, toHz: 694e6 };

/** The axis of a plan: all its windows and carriers with a little room around. */
export function spanOfPlan(request: PlanRequest, { carriers, spares }: Standing): Span {
  const edges = [
    ...request.window.flatMap(({ start_hz, stop_hz }) => [start_hz, stop_hz]),
    ...request.protected.map(({ frequency_hz }) => frequency_hz),
    ...[...carriers, ...spares].map(({ frequency_hz }) => frequency_hz),
  ];
  if (edges.length === 0) return WITHOUT_WINDOWS;
  const [from, to] = [Math.min(...edges), Math.max(...edges)];
  const room = Math.max((to - from) * MARGIN_SHARE, LEAST_MARGIN_HZ);
  return { fromHz: from - room, toHz: to + room };
}

/** Everything that the picture of a plan needs. `broken` are the frequencies at which a rule is broken. */
export function lanesOf(
  request: PlanRequest,
  standing: Standing,
  field: FieldFacts | null,
  broken: ReadonlySet<number>,
): LanesFacts {
  const zones = zonesOf(request);
  const masts = [
    ...standing.carriers.map((one) => carrierMast(request, one, broken)),
    ...standing.spares.map((one) => mastOf(request, one, "spare", false)),
    ...request.protected.flatMap((one) => strangers(one, zones)),
  ];
  return { zones, masts, windows: request.window.map(spanOfWindow), closed: closedOf(request), field };
}

function carrierMast(request: PlanRequest, carrier: PlanCarrier, broken: ReadonlySet<number>): Mast {
  const group = groupNamed(request, carrier.group);
  const fixed = group?.fixed_hz.includes(carrier.frequency_hz) ?? false;
  const locked = carrier.locked || (group?.locked_hz.includes(carrier.frequency_hz) ?? false);
  return mastOf(request, carrier, fixed ? "fixed" : locked ? "locked" : "found", broken.has(carrier.frequency_hz));
}

function mastOf(request: PlanRequest, one: PlanCarrier | PlanSpare, look: MastLook, broken: boolean): Mast {
  const profile = profileOf(request, one.group);
  const spacingHz = profile?.spacing_hz ?? 0;
  return { frequencyHz: one.frequency_hz, zone: one.zone, look, spacingHz, guardHz: widestGuard(profile), broken };
}

function strangers(one: PlanRequest["protected"][number], zones: readonly string[]): Mast[] {
  const heard = one.zone === "" ? zones : [one.zone];
  const { frequency_hz: frequencyHz, spacing_hz } = one;
  return heard.map((zone) => ({
    frequencyHz,
    zone,
    look: "protected",
    spacingHz: spacing_hz * 2,
    guardHz: 0,
    broken: false,
  }));
}

function spanOfWindow({ start_hz, stop_hz }: { readonly start_hz: number; readonly stop_hz: number }): Span {
  return { fromHz: start_hz, toHz: stop_hz };
}

function closedOf(request: PlanRequest): ClosedStretch[] {
  return request.exclusion.map((one) => ({ ...spanOfWindow(one), words: one.words }));
}

/** What each lane says beside its name: how many stand of those asked for. */
export function laneWordsOf(request: PlanRequest, carriers: readonly PlanCarrier[]): Record<string, string> {
  return Object.fromEntries(
    zonesOf(request).map((zone) => {
      const asked = request.group.filter((one) => one.zone === zone).reduce((sum, one) => sum + one.count, 0);
      const stand = carriers.filter((one) => one.zone === zone).length;
      return [zone, chartWords.laneCount(stand, asked)];
    }),
  );
}

/** The third-order products that a carrier has a part in, with all that is heard and on air together with it. */
export function litProducts(request: PlanRequest, carrier: PlanCarrier, carriers: readonly PlanCarrier[]): LitProducts {
  const step_hz = request.raster_hz;
  const beside = carriers.filter(
    (one) =>
      one.frequency_hz !== carrier.frequency_hz &&
      hears(request, carrier.zone, one.zone) &&
      together(request, carrier.group, one.group),
  );
  const places = [...new Set(beside.map((one) => Math.round(one.frequency_hz / step_hz)))];
  const { first, counts } = madeProducts(Math.round(carrier.frequency_hz / step_hz), places);
  return { start_hz: first * step_hz, step_hz, counts };
}
