import type { CommandState, RetunePrompt, RetuneRun, RetuneState, RetuneWrite } from "../protocol/model";

/** What a person sees of a write: the device said so, it was asked for, or nobody can tell. */
export type GuidedLook = "confirmed" | "asked" | "unknown";

const MOVING: readonly RetuneState[] = ["running", "asking", "rolling back"];
const UNDER_WAY: readonly CommandState[] = ["requested", "sent", "accepted"];
const NOT_DONE: readonly CommandState[] = ["refused", "cancelled", "expired", "not applied"];
/** Answers after which the console sends something to a pack or a receiver. */
const SENDS: readonly string[] = ["desk-muted yes", "look new", "listen no"];
/** How long a look at a spare holds: common practice, as the console judges it. */
const LOOK_HOLDS_US = 600e6;

export interface GuidedAnswer {
  readonly answer: string;
  /** The digit that gives it. */
  readonly key: string;
  readonly held: boolean;
}

export function isMoving(state: RetuneState): boolean {
  return MOVING.includes(state);
}

/** The answers to a question in their order, each with its key. */
export function guidedAnswers(prompt: RetunePrompt): readonly GuidedAnswer[] {
  return prompt.answers.map((answer, index) => ({
    answer,
    key: `${index + 1}`,
    held: SENDS.includes(`${prompt.code} ${answer}`),
  }));
}

/** How a write stands; null for one that was not asked for yet, and for one that was refused. */
export function writeLook(write: Pick<RetuneWrite, "state">): GuidedLook | null {
  if (write.state === null || NOT_DONE.includes(write.state)) return null;
  if (write.state === "confirmed") return "confirmed";
  return UNDER_WAY.includes(write.state) ? "asked" : "unknown";
}

/** The channels of a row's list that can be chosen, in words. */
export function guidedChannels(
  rows: readonly { readonly channel: string; readonly number: number; readonly part: string }[],
): { readonly channel: string; readonly words: string }[] {
  return rows.map(({ channel, number, part }) => ({ channel, words: `${number} ${part}` }));
}

/** Whether a look is too old for a change in a show. */
export function isLookTooOld(quietAtUtcUs: number, nowUtcUs: number): boolean {
  return nowUtcUs - quietAtUtcUs > LOOK_HOLDS_US;
}

/** The guided run of a plan that is under way, of those in a list. */
export function guidedUnderWay<R extends Pick<RetuneRun, "guided" | "plan" | "state">>(
  runs: readonly R[],
  plan: string,
): R | null {
  return runs.find((run) => run.guided && run.plan === plan && isMoving(run.state)) ?? null;
}
