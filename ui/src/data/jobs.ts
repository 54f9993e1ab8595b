import type { Job } from "../protocol/model";
import { send } from "./request";

/** Long work in a process of its own. */

const OVER: readonly Job["state"][] = ["done", "stopped", "failed"];

/** Whether nothing of it will change any more. */
export function isOver(job: Job): boolean {
  return OVER.includes(job.state);
}

/** The work under way for a document, or null where there is none or nobody answers. */
export async function searchFor(subject: string): Promise<Job | null> {
  const outcome = await send<{ readonly items: readonly Job[] }>("jobs", {});
  if (!outcome.ok) return null;
  return outcome.value.items.find((job) => job.subject === subject && !isOver(job)) ?? null;
}
