import { expect, test } from "vitest";
import { matter } from "../../gallery/fake_console";
import { clockWords } from "../pure/number_words";
import { matterWords } from "./matter_words";

const names = { root: "Quay receiver 3", rows: "10 Chorus 3", numbers: "21 and 22" };

test("a matter says what it is, its evidence with the time it began, and the act", () => {
  const said = matterWords(matter({ cause: "contact-lost", began_utc_us: 1.7e15 }), names);
  expect(said.title).toBe("Quay receiver 3 is silent");
  expect(said.evidence).toContain("21 and 22");
  expect(said.evidence).toContain(clockWords(1.7e15));
  expect(said.act).not.toBe("");
});

test("a carrier that is hardly over the floor is not called weak", () => {
  const weak = (margin: number) => matterWords(matter({ evidence: { better_branch_margin_db: margin } }), names);
  expect(weak(12).title).toBe("10 Chorus 3 is weak");
  expect(weak(12).evidence).toContain("12 dB");
  expect(weak(0.4).title).toBe("10 Chorus 3 is not heard");
});

test("a cause that the catalogue doesn't know is said all the same", () => {
  expect(matterWords(matter({ cause: "feed-open" }), names).title).toBe("10 Chorus 3: feed open");
});

test.each([
  ["deaf-branch", { deafness_db: 58.2, feed_ma: 0 }, "10 Chorus 3 is going deaf on B", "58 dB less, feed draws 0 mA"],
  ["audio-damage", { damaged_fraction: 0.12 }, "10 Chorus 3 breaks up", "12 % of the sound damaged"],
  ["pack-overload", { overloaded_fraction: 0.4 }, "10 Chorus 3 clips at the pack", "40 % of the time"],
  ["wrong-key", {}, "10 Chorus 3 has the wrong key", "not understood"],
  ["clock-slips", { slips_per_min: 30 }, "Quay receiver 3 clicks", "30 a minute"],
  ["clock-unlocked", {}, "Quay receiver 3 has lost its clock", "21 and 22"],
  ["low-cells", { battery_minutes: 85, needed_min: 130 }, "10 Chorus 3 runs out too early", "85 min left, 130 needed"],
  ["cells-end", { battery_minutes: 20 }, "10 Chorus 3 has cells for minutes", "20 min left"],
  ["wake-overdue", { wake_overdue_s: 30 }, "10 Chorus 3 does not wake", "due since"],
])("%s is said in words, with its evidence", (cause, evidence, title, said) => {
  const root = cause === "deaf-branch" ? "quay-1/carrier/1/branch/b" : "quay-1";
  const spoken = matterWords(matter({ cause, evidence, root }), names);
  expect(spoken.title).toBe(title);
  expect(spoken.evidence).toContain(said);
  expect(spoken.verdict).not.toBe("");
});

test("what several things share is named where the production names it, else counted", () => {
  const shared = { evidence: { things_count: 4 }, root: "quay-1/carrier/1/branch/b" };
  const path = matterWords(matter({ ...shared, cause: "deaf-branch-together", shared: "Quay north" }), names);
  const label = matterWords(matter({ ...shared, cause: "deaf-branch-together", shared: "" }), names);
  const clocks = matterWords(matter({ ...shared, cause: "clock-slips-together", shared: "" }), names);
  expect([path.title, label.title]).toEqual(["Quay north is going deaf", "Branch B is going deaf"]);
  expect(clocks.title).toBe("4 devices click");
});
