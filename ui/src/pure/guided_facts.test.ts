import { expect, test } from "vitest";
import { guidedWords } from "../words/guided_words";
import { guidedAnswers, guidedUnderWay, isLookTooOld, writeLook } from "./guided_facts";

const ASKED: readonly (readonly [string, readonly string[]])[] = [
  ["off-mic", ["yes", "no"]],
  ["desk-muted", ["yes", "no"]],
  ["look", ["old", "new", "neither"]],
  ["listen", ["yes", "no"]],
  ["unmute", ["yes"]],
];
const prompts = ASKED.map(([code, answers]) => ({ code, answers, words: "" }));

test("what sends something is held, and nothing else", () => {
  const held = prompts.flatMap((prompt) =>
    guidedAnswers(prompt).flatMap((one) => (one.held ? [`${prompt.code} ${one.answer}`] : [])),
  );
  expect(held).toEqual(["desk-muted yes", "look new", "listen no"]);
});

test("every answer of every question has words and a key of its own", () => {
  for (const prompt of prompts) {
    const answers = guidedAnswers(prompt);
    expect(new Set(answers.map((one) => one.key)).size).toBe(answers.length);
    for (const { answer } of answers) expect(guidedWords.answers[prompt.code]?.[answer]).toBeTruthy();
  }
});

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
