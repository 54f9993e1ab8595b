import { expect, test } from "vitest";
import { launchToken } from "./session";

test("only a launch link has a token", () => {
  expect(launchToken("#launch=abc_DEF-1")).toBe("abc_DEF-1");
  for (const hash of ["", "#", "#launch=", "#launch=a b", "#other=abc"]) expect(launchToken(hash)).toBeNull();
});
