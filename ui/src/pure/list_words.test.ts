import { expect, test } from "vitest";
import { numbersWords } from "./list_words";

test("rows are said as people say them", () => {
  const said = (...numbers: number[]) => numbersWords(numbers, "and", "to");
  expect(said()).toBe("");
  expect(said(7)).toBe("7");
  expect(said(22, 21)).toBe("21 and 22");
  expect(said(1, 2, 3, 9)).toBe("1 to 3 and 9");
  expect(said(9, 10, 21, 22)).toBe("9, 10, 21 and 22");
});
