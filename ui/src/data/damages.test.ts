import { expect, test } from "vitest";
import { Damages } from "./damages";

test("damage that goes on is one incident with its length", () => {
  const damages = new Damages();
  for (const at of [10, 10.1, 10.2, 10.3]) damages.note("c", at);
  damages.note("c", 20);
  const incidents = damages.incidents(["c"]);
  expect(incidents.map(({ at }) => at)).toEqual([10, 20]);
  expect(incidents[0]?.seconds).toBeCloseTo(0.3, 6);
});

test("the recent past adds only what frames did not tell", () => {
  const damages = new Damages();
  damages.note("c", 10);
  damages.notePast("c", 9.9, 10.2);
  damages.notePast("c", 2, 6);
  const incidents = damages.incidents(["c"]);
  expect(incidents).toHaveLength(2);
  expect(incidents[1]?.seconds).toBeNaN();
});

test("rows that aren't shown have no incident, and memory is bounded", () => {
  const damages = new Damages();
  for (let at = 0; at < 5000; at += 1) damages.note("c", at * 10);
  expect(damages.incidents(["other"])).toEqual([]);
  expect(damages.incidents(["c"]).length).toBeLessThanOrEqual(2000);
});
