import { expect, test } from "vitest";
import { plainAhead } from "../../gallery/evening";
import type { Ahead } from "../protocol/model";
import { cueState } from "./cue_state";

const cue = (cue_id: string, entering: readonly number[]) => ({ cue_id, starts_utc_us: 0, ends_utc_us: 1, entering });
const running: Ahead = {
  ...plainAhead,
  show: { ...plainAhead.show, phase: "running" },
  on_air: [1, 2],
  cues: [cue("fog", [1]), cue("song", [3])],
};

test("a row is live, next or idle while a cue runs, and none of them otherwise", () => {
  expect([1, 2, 3, 4].map((number) => cueState(running, number))).toEqual(["live", "live", "next", "idle"]);
  expect(cueState(plainAhead, 1)).toBe("");
});
