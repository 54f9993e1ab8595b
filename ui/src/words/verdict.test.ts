import { expect, test } from "vitest";
import { Quality } from "../protocol/quality";
import { ABSENT, type Reading } from "../pure/reading";
import type { LiveRow } from "../pure/row";
import { silenceWords, verdictOf } from "./verdict";

const good = (value: number): Reading => ({ value, quality: Quality.Good, ageS: 0 });

function row(parts: Partial<LiveRow> = {}): LiveRow {
  return {
    state: "on air",
    silentS: 0,
    valueAgeS: 0,
    lastSeenUtcUs: 0,
    branches: [{ label: "A", level: good(-60), deaf: false }],
    better: good(-60),
    peak: good(-20),
    analog: false,
    damage: good(0),
    audioState: "open",
    packSwitch: "on",
    minutes: ABSENT,
    fraction: ABSENT,
    ...parts,
  };
}

test("a row that is well is good, and a spare is called so", () => {
  expect(verdictOf(row(), "")).toBe("good");
  expect(verdictOf(row({ state: "spare" }), "")).toBe("spare");
});

test("the most pressing is said first", () => {
  const deaf = row({ branches: [{ label: "B", level: good(-115), deaf: true }], damage: good(0.5) });
  expect(verdictOf(row({ state: "no report", silentS: 31 }), "weak")).toBe("no report 31 s");
  expect(verdictOf(deaf, "weak")).toBe("weak");
  expect(verdictOf(deaf, "")).toBe("breaking up");
  expect(verdictOf({ ...deaf, damage: good(0) }, "")).toBe("deaf on B");
  expect(verdictOf(row({ peak: good(-0.5) }), "")).toBe("at the clip");
});

test("damage that is too old to act on is not said as if it were now", () => {
  const old: Reading = { value: 0.5, quality: Quality.Uncertain, ageS: 9 };
  expect(verdictOf(row({ damage: old }), "")).toBe("good");
});

test("a silence has its reason, the hand at the pack first", () => {
  expect(silenceWords(row())).toBe("");
  expect(silenceWords(row({ audioState: "no_key" }))).toBe("no key");
  expect(silenceWords(row({ audioState: "muted", packSwitch: "muted" }))).toBe("muted at the pack");
  expect(silenceWords(row({ packSwitch: "" }))).toBe("");
});
