import type { Plan, RetuneFacts, RetunePreview, RetuneRun } from "../protocol/model";
import { type Outcome, post, send } from "./request";

/** Putting a plan on the air. */

/** What it would do; nothing is sent. */
export function previewPlan(plan: string): Promise<Outcome<RetunePreview>> {
  return post(`plans/${encodeURIComponent(plan)}/preview`, {});
}

/** Puts it on the air as it was previewed, leaving out what the preview left out. */
export function applyPlan(plan: string, revision: number): Promise<Outcome<RetuneRun>> {
  return post(`plans/${encodeURIComponent(plan)}/apply`, { plan_revision: revision, only_what_can: true });
}

export function readRun(runId: string): Promise<Outcome<RetuneRun>> {
  return send(`retunes/${encodeURIComponent(runId)}`, {});
}

/** Goes no further than the step under way. */
export function cancelRun(runId: string): Promise<Outcome<RetuneRun>> {
  return post(`retunes/${encodeURIComponent(runId)}/cancel`, {});
}

export function rollBackRun(runId: string): Promise<Outcome<RetuneRun>> {
  return post(`retunes/${encodeURIComponent(runId)}/roll-back`, {});
}

/** The runs of late. */
export function listRuns(): Promise<Outcome<{ readonly items: readonly RetuneFacts[] }>> {
  return send("retunes", {});
}

/** Begins the guided change of one channel to the best verified spare. */
export function beginGuided(plan: string, channel: string): Promise<Outcome<RetuneRun>> {
  return post("retunes", { plan, channel });
}

export function answerRun(runId: string, prompt: string, answer: string): Promise<Outcome<RetuneRun>> {
  return post(`retunes/${encodeURIComponent(runId)}/answer`, { prompt, answer });
}

/** Holds a plan's spares against kept surveys; the plan gets a new revision. */
export function lookAtSpares(plan: string, surveys: readonly string[]): Promise<Outcome<Plan>> {
  return post(`plans/${encodeURIComponent(plan)}/spares/look`, { surveys });
}
