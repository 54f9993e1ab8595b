import { expect, test } from "vitest";
import { countStates, type RowCircumstances, rowState } from "./row_state";

const heard: RowCircumstances = {
  contact: "fresh",
  everSeen: true,
  fresh: true,
  asleep: false,
  goodbye: "none",
  spare: false,
};

test("each circumstance has its one word", () => {
  expect(rowState(heard)).toBe("on air");
  expect(rowState({ ...heard, spare: true })).toBe("spare");
  expect(rowState({ ...heard, asleep: true })).toBe("asleep");
  expect(rowState({ ...heard, goodbye: "standby" })).toBe("asleep");
  expect(rowState({ ...heard, goodbye: "cells" })).toBe("off");
  expect(rowState({ ...heard, fresh: false })).toBe("unknown");
  expect(rowState({ ...heard, everSeen: false })).toBe("unknown");
});

test("lost contact outranks everything that was heard before it", () => {
  for (const contact of ["lost", "bad", "connecting"] as const) {
    expect(rowState({ ...heard, contact, asleep: true, spare: true, goodbye: "off" })).toBe("no report");
  }
  expect(rowState({ ...heard, contact: "late" })).toBe("on air");
});

test("a row whose device nobody watches is removed, whatever was heard before", () => {
  expect(rowState({ ...heard, contact: "removed", everSeen: false, fresh: false })).toBe("removed");
  expect(rowState({ ...heard, contact: "removed", asleep: true })).toBe("removed");
});

test("the counts equal the rows", () => {
  const counts = countStates(["on air", "on air", "asleep", "no report"]);
  expect(Object.values(counts).reduce((sum, count) => sum + count, 0)).toBe(4);
  expect(counts["on air"]).toBe(2);
});
