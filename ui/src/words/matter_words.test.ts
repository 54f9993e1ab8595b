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
