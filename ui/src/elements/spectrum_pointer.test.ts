import { describe, expect, it } from "vitest";
import { type SpectrumHand, SpectrumPointer, type Touch } from "./spectrum_pointer";

/** A hand that writes down what is asked of it. */
function hand(mayPaint = true): { readonly said: string[]; readonly pointer: SpectrumPointer } {
  const said: string[] = [];
  const note =
    (name: string) =>
    (...values: readonly unknown[]) =>
      void said.push([name, ...values.map((one) => JSON.stringify(one))].join(" "));
  const notes: SpectrumHand = {
    point: note("point"),
    drag: note("drag"),
    pinch: note("pinch"),
    look: note("look"),
    paint: note("paint"),
    painted: note("painted"),
    dropped: note("dropped"),
    mayPaint,
  };
  return { said, pointer: new SpectrumPointer(notes) };
}

const touch = (x: number, layer: Touch["layer"] = "picture", id = 1): Touch => ({ id, x, layer });

describe("fingers on a spectrum", () => {
  it("read where they pass, and move the picture while they press", () => {
    const { said, pointer } = hand();
    pointer.move(touch(5));
    pointer.press(touch(10));
    pointer.move(touch(25));
    pointer.release(1);
    pointer.move(touch(30));
    expect(said).toEqual(["point 5", "point 10", "drag 10 25", "point 30"]);
  });

  it("paint along the room from where they began, even when they leave it", () => {
    const { said, pointer } = hand();
    pointer.press(touch(10, "room"));
    pointer.move(touch(20, "room"));
    pointer.move(touch(40, "picture"));
    pointer.release(1);
    expect(said).toEqual(["point 10", "paint 10 20", "paint 10 40", "painted"]);
  });

  it("move the picture from the room where nothing may be painted", () => {
    const { said, pointer } = hand(false);
    pointer.press(touch(10, "room"));
    pointer.move(touch(20, "room"));
    pointer.release(1);
    expect(said).toEqual(["point 10", "drag 10 20"]);
  });

  it("look elsewhere on the small picture of the whole", () => {
    const { said, pointer } = hand();
    pointer.press(touch(10, "whole"));
    pointer.move(touch(20, "picture"));
    expect(said).toEqual(["look 10", "look 20"]);
  });

  it("zoom when there are two", () => {
    const { said, pointer } = hand();
    pointer.press(touch(10));
    pointer.press(touch(50, "picture", 2));
    pointer.move(touch(70, "picture", 2));
    expect(said.at(-1)).toBe("pinch [50,10] [70,10]");
  });

  it("mean nothing once the page scrolls instead", () => {
    const { said, pointer } = hand();
    pointer.press(touch(10, "room"));
    pointer.move(touch(20, "room"));
    pointer.drop(1);
    expect(said.at(-1)).toBe("dropped");
    expect(pointer.panning).toBe(false);
  });
});
