import type { Job, Plan, PlanFacts, PlanProduct, PlanVerdict, ProductField } from "../protocol/model";
import { type Outcome, post, send, sendTagged, type Tagged } from "./request";

/** Frequency plans: kept documents of which every revision stays, and the search for carriers as a job. */

const AT_MOST = 500;

/** All plans, without their carriers. */
export async function listPlans(): Promise<Outcome<readonly PlanFacts[]>> {
  const outcome = await send<{ readonly items: readonly PlanFacts[] }>(`plans?limit=${AT_MOST}`, {});
  return outcome.ok ? { ok: true, value: outcome.value.items } : outcome;
}

/** One plan, with the tag of the revision that was read. */
export function readPlan(name: string): Promise<Outcome<Tagged<Plan>>> {
  return sendTagged(path(name), {});
}

/** Keeps a plan as a new revision. `tag` is that of the revision it was made from; empty for a plan that is new. */
export function keepPlan(name: string, plan: object, tag: string): Promise<Outcome<Tagged<Plan>>> {
  const match: Record<string, string> = tag === "" ? { "If-None-Match": "*" } : { "If-Match": tag };
  return sendTagged(path(name), {
    method: "PUT",
    headers: { "Content-Type": "application/json", ...match },
    body: JSON.stringify(plan),
  });
}

/** Starts the search for carriers; what it finds becomes a revision of the plan. */
export function findCarriers(name: string, seed: number, seconds: number): Promise<Outcome<Job>> {
  return post(`${path(name)}/find`, { seed, seconds });
}

export function readJob(jobId: string): Promise<Outcome<Job>> {
  return send(`jobs/${encodeURIComponent(jobId)}`, {});
}

/** Ends a job before its time; the best that it has found is kept. */
export function stopJob(jobId: string): Promise<Outcome<unknown>> {
  return send(`jobs/${encodeURIComponent(jobId)}`, { method: "DELETE" });
}

/** Which rules the plan breaks. */
export function checkPlan(name: string): Promise<Outcome<PlanVerdict>> {
  return post(`${path(name)}/check`, {});
}

/** How many products fall where. */
export function productField(name: string): Promise<Outcome<ProductField>> {
  return send(`${path(name)}/field`, {});
}

/** The products near a carrier, of all that is heard in its zone, worst first. */
export function productsNear(
  name: string,
  frequencyHz: number,
  zone: string,
  withinHz: number,
): Promise<Outcome<{ readonly items: readonly PlanProduct[] }>> {
  const asked = new URLSearchParams({ frequency_hz: `${frequencyHz}`, zone, within_hz: `${withinHz}` });
  return send(`${path(name)}/products?${asked}`, {});
}

/** The forms in which a plan leaves the console. */
export const EXPORT_FORMATS = ["page", "csv", "json", "neighbours"] as const;
export type ExportFormat = (typeof EXPORT_FORMATS)[number];

/** Where a plan is exported. */
export function exportAddress(name: string, format: ExportFormat): string {
  return `/api/v1/${path(name)}/export?format=${format}`;
}

function path(name: string): string {
  return `plans/${encodeURIComponent(name)}`;
}
