import { expect, test } from "vitest";
import { silentRuns } from "./silent_runs";

test("only what lies between reports is a silence", () => {
  const reported = new Float32Array(100).fill(1);
  reported.fill(0, 0, 5);
  reported.fill(0, 20, 24);
  expect(silentRuns(reported, 0.34)).toEqual([{ first: 20, last: 23 }]);
});

test("before the first report, and beyond what can be compared, there is none", () => {
  const reported = new Float32Array(100);
  reported.fill(1, 0, 10);
  expect(silentRuns(reported, 0.34)).toEqual([]);
  reported.fill(1, 80, 100);
  expect(silentRuns(reported, 0.34)).toEqual([]);
});
