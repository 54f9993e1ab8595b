import { expect, test } from "vitest";
import { stageWords } from "../words/stage_words";
import { actOfKey } from "./key_acts";
import { STAGES, stageOf } from "./stages";

test("an address names its stage, and any other address the live watch", () => {
  for (const stage of STAGES) expect(stageOf(`#${stage}`)).toBe(stage);
  for (const other of ["", "#", "#launch=abc", "#Chart", "#chart2"]) expect(stageOf(other), other).toBe("heed");
});

test("each stage is named, with its plain word, and has the key of its first letter", () => {
  for (const stage of STAGES) {
    const { name, plain } = stageWords.names[stage];
    expect(plain).not.toBe("");
    const pressed = { key: name[0] ?? "", ctrlKey: false, altKey: false, metaKey: false };
    expect(actOfKey(pressed, false, false)).toEqual({ act: "stage", stage });
  }
});
