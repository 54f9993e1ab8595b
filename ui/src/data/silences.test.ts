import { expect, test } from "vitest";
import { Silences } from "./silences";

test("a silence is told once, however often it is heard of", () => {
  const silences = new Silences();
  silences.note("c", 10, 25);
  silences.note("c", 10.5, 24);
  silences.note("c", 100, 130);
  expect(silences.incidents(["other", "c"])).toEqual([
    { row: 1, at: 10, seconds: 15 },
    { row: 1, at: 100, seconds: 30 },
  ]);
});

test("memory is bounded", () => {
  const silences = new Silences();
  for (let at = 0; at < 5000; at += 1) silences.note("c", at * 10, at * 10 + 5);
  expect(silences.incidents(["c"]).length).toBeLessThanOrEqual(2000);
});
