/** What a row is in one word. Each row is exactly one of these, so that the counts in the foot always add up. */

import type { ContactState } from "../protocol/model";

export type RowState = "on air" | "spare" | "asleep" | "off" | "no report" | "removed" | "unknown";

export const ROW_STATES: readonly RowState[] = ["on air", "spare", "asleep", "off", "no report", "removed", "unknown"];

export interface RowCircumstances {
  readonly contact: ContactState | null;
  readonly everSeen: boolean;
  /** Whether the channel's values are present and young enough to act on. */
  readonly fresh: boolean;
  readonly asleep: boolean;
  /** The pack's farewell: `none`, `standby`, `off`, `cells`, or empty where none is known. */
  readonly goodbye: string;
  readonly spare: boolean;
}

/** What nobody watches is removed; lost contact outranks all that was heard before it; a farewell outranks the assignment. */
export function rowState(row: RowCircumstances): RowState {
  if (row.contact === "removed") return "removed";
  if (!row.everSeen) return "unknown";
  if (row.contact === "lost" || row.contact === "bad" || row.contact === "connecting") return "no report";
  if (!row.fresh) return "unknown";
  if (row.asleep || row.goodbye === "standby") return "asleep";
  if (row.goodbye === "off" || row.goodbye === "cells") return "off";
  return row.spare ? "spare" : "on air";
}

/** How many rows are in each state. */
export function countStates(states: Iterable<RowState>): Record<RowState, number> {
  const counts = Object.fromEntries(ROW_STATES.map((state) => [state, 0])) as Record<RowState, number>;
  for (const state of states) counts[state] += 1;
  return counts;
}
