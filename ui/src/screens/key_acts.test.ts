import { expect, test } from "vitest";
import { words } from "../words/english";
import { actOfKey } from "./key_acts";

const press = (key: string, parts: Partial<KeyboardEvent> = {}) => ({
  key,
  ctrlKey: false,
  altKey: false,
  metaKey: false,
  ...parts,
});

test("each listed key has an act", () => {
  const keys = [...words.watchKeys, ...words.keyList].flatMap(([key]) => key.split(/\s+/)).filter((key) => key !== "…");
  const named: Record<string, string> = { "↓": "ArrowDown", "↑": "ArrowUp", "↵": "Enter", Esc: "Escape" };
  for (const key of keys) expect(actOfKey(press(named[key] ?? key), false, false), key).not.toBeNull();
});

test("nothing is taken from somebody who types, but Escape", () => {
  expect(actOfKey(press("a"), true, false)).toBeNull();
  expect(actOfKey(press("Escape"), true, false)).toEqual({ act: "close" });
});

test("the browser's own keys and the open list are left alone", () => {
  expect(actOfKey(press("r", { ctrlKey: true }), false, false)).toBeNull();
  expect(actOfKey(press("j"), false, true)).toBeNull();
  expect(actOfKey(press("x"), false, false)).toBeNull();
});
