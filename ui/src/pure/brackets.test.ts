import { expect, test } from "vitest";
import { layBrackets } from "./brackets";

const matter = (id: string, rows: number[], priority = 2) => ({ matter_id: id, priority, acknowledged: false, rows });

test("a matter of one row has no bracket", () => {
  expect(layBrackets([matter("a", [3])])).toEqual([]);
});

test("a bracket spans its rows and says which it touches", () => {
  expect(layBrackets([matter("a", [5, 2, 4])])).toEqual([
    { matter_id: "a", priority: 2, acknowledged: false, lane: 0, first: 2, last: 5, touched: [2, 4, 5] },
  ]);
});

test("brackets that overlap stand in two lanes, the more pressing nearer the rows", () => {
  const laid = layBrackets([matter("a", [1, 2, 3], 3), matter("b", [3, 4], 1), matter("c", [6, 7], 3)]);
  expect(laid.map(({ matter_id, lane }) => [matter_id, lane])).toEqual([
    ["b", 0],
    ["a", 1],
    ["c", 0],
  ]);
});
