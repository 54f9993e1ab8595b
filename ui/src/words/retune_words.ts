import type { RetuneChanged } from "../protocol/events";
import type { RetuneStep } from "../protocol/model";
import { megahertz } from "../pure/number_words";

const KINDS: Readonly<Record<RetuneStep["kind"], string>> = {
  move: "moves",
  park: "steps aside",
  sleep: "goes to sleep",
  wake: "wakes",
  back: "goes back",
};

export function stepKindWords(kind: RetuneStep["kind"]): string {
  return KINDS[kind];
}

/** One event of a retune in a sentence. */
export function retuneEventWords(event: RetuneChanged): string {
  if (event.step !== null) return stepWords(event.step);
  const asks = event.prompt === "" ? "" : `: ${event.prompt}`;
  const reason = event.reason === "" ? "" : `, ${event.reason}`;
  return `retune ${event.state}${asks}${reason} (${event.by})`;
}

function stepWords(step: RetuneStep): string {
  const where = step.to_hz === null ? "" : ` to ${megahertz(step.to_hz)} MHz`;
  const reason = step.reason === "" ? "" : `, ${step.reason}`;
  return `${step.channels.join(", ")} ${KINDS[step.kind]}${where}: ${step.state}${reason}`;
}
