import { expect, test } from "vitest";
import { guidedAnswers } from "../pure/guided_facts";
import { guidedWords } from "./guided_words";

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
