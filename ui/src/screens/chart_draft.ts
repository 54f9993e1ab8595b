import type { Plan, PlanFacts } from "../protocol/model";
import { groupNamed, type PlanRequest, tidied } from "../pure/plan_request";

/** A plan before it is kept. */

const NAME_LENGTH_MAXIMUM = 60;

export function emptyPlan(title: string): Plan {
  return {
    title,
    request: {},
    carriers: [],
    spares: [],
    complete: false,
    worst_margin_hz: null,
    seed: 0,
    steps: 0,
    seconds: 0,
    relaxations: [],
    bands: [],
  };
}

/** A name that addresses can bear, made of a title, and no other plan's. */
export function slugOf(title: string, taken: readonly PlanFacts[]): string {
  const slug =
    title
      .normalize("NFKD")
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, "-")
      .replace(/^-+|-+$/g, "")
      .slice(0, NAME_LENGTH_MAXIMUM) || "plan";
  const names = new Set(taken.map((one) => one.name));
  if (!names.has(slug)) return slug;
  let number = 2;
  while (names.has(`${slug}-${number}`)) number += 1;
  return `${slug}-${number}`;
}

/** The plan with its changed request, and those carriers and spares that the request still has a place for. */
export function planToKeep(plan: Plan, request: PlanRequest): Plan {
  const fits = (one: { readonly group: string; readonly zone: string; readonly frequency_hz: number }) =>
    groupNamed(request, one.group)?.zone === one.zone && one.frequency_hz % request.raster_hz === 0;
  const counted = new Map<string, number>();
  const within = ({ group }: { readonly group: string }) => {
    const count = (counted.get(group) ?? 0) + 1;
    counted.set(group, count);
    return count <= (groupNamed(request, group)?.count ?? 0);
  };
  const lockedFirst = [...plan.carriers].sort((one, other) => Number(other.locked) - Number(one.locked));
  const kept = new Set(lockedFirst.filter((one) => fits(one) && within(one)));
  const carriers = plan.carriers.filter((one) => kept.has(one));
  return { ...plan, request: tidied(request), carriers, spares: plan.spares.filter(fits) };
}
