import { expect, test } from "vitest";
import { guidedUnderWay, isLookTooOld, writeLook } from "./guided_facts";

test("a write is confirmed, asked or unknown, and nothing before it was asked for", () => {
  expect(writeLook({ state: "confirmed" })).toBe("confirmed");
  expect(writeLook({ state: "unknown" })).toBe("unknown");
  expect(writeLook({ state: null })).toBeNull();
  expect(writeLook({ state: "sent" })).toBe("asked");
  expect(writeLook({ state: "partly done" })).toBe("unknown");
  expect(writeLook({ state: "refused" })).toBeNull();
});

test("a look holds ten minutes", () => {
  expect(isLookTooOld(0, 600e6)).toBe(false);
  expect(isLookTooOld(0, 601e6)).toBe(true);
});

test("a guided run under way is found again, one that ended or of another plan is not", () => {
  const run = { guided: true, plan: "tonight", state: "asking" as const };
  expect(
    guidedUnderWay(
      [
        { ...run, state: "done" },
        { ...run, plan: "other" },
        { ...run, guided: false },
      ],
      "tonight",
    ),
  ).toBeNull();
  expect(guidedUnderWay([run], "tonight")).toBe(run);
});
