import { expect, test } from "vitest";
import { readFrame } from "./frames";

/** A frame written out byte by byte as the live feed's description lays it out: two carrier rows, two columns. */
const READINGS = [
  [1, 1, 1, 2],
  [2, 0, 0, 0],
  [7, 0, 0, 0],
  [9, 0, 0, 0],
  [0x40, 0x42, 0x0f, 0, 0, 0, 0, 0],
  [0x80, 0x84, 0x1e, 0, 0, 0, 0, 0],
  [3, 0, 0, 0],
  [0, 0, 0x80, 0x3f, 0, 0, 0xc0, 0x7f],
  [1, 0, 0, 0],
  [5, 0, 0xff, 0xff],
  [4, 0, 1, 0],
  [1, 0, 0, 0],
  [1, 2, 0, 0],
  [0, 0, 30, 0],
].flat();

function buffer(bytes: readonly number[]): ArrayBuffer {
  return Uint8Array.from(bytes).buffer;
}

test("a readings frame is read plane by plane", () => {
  const frame = readFrame(buffer(READINGS));
  if (frame.kind !== "readings") throw new Error("not a readings frame");
  expect([frame.table, frame.rows, frame.epoch, frame.sequence]).toEqual(["carrier", 2, 7, 9]);
  expect([frame.utcUs, frame.monotonicUs]).toEqual([1_000_000, 2_000_000]);
  const [quality, foreign] = frame.columns;
  expect(quality?.index).toBe(3);
  expect([...(quality?.values ?? [])]).toEqual([1, Number.NaN]);
  expect([...(quality?.qualities ?? [])]).toEqual([1, 0]);
  expect([...(quality?.ages ?? [])]).toEqual([5, 65535]);
  expect(foreign?.index).toBe(4);
  expect(foreign?.values).toBeInstanceOf(Uint8Array);
  expect([...(foreign?.ages ?? [])]).toEqual([0, 30]);
});

test("a recent message gives levels and shares", () => {
  const bytes = [
    [2, 1, 3, 0],
    [1, 0, 0, 0],
    [7, 0, 0, 0],
    [2, 0, 0, 0],
    [0, 0, 0, 0, 0, 0, 0, 0],
    [0, 0, 0, 0, 0, 0, 0, 0],
    [0xa8, 0xfd, 0, 0x80],
    [0x44, 0xfd, 0, 0x80],
    [255, 0, 0, 0],
    [51, 0, 0, 0],
    [255, 0, 0, 0],
    [2, 0, 0, 0],
  ].flat();
  const frame = readFrame(buffer(bytes));
  if (frame.kind !== "recent") throw new Error("not a recent message");
  expect([...frame.median]).toEqual([-60, Number.NaN]);
  expect([...frame.worst]).toEqual([-70, Number.NaN]);
  expect([...frame.damage]).toEqual([1, 0]);
  expect(frame.speech[0]).toBeCloseTo(0.2, 6);
  expect([...frame.deaf]).toEqual([2, 0]);
});

test("what is cut short or not ours is refused", () => {
  expect(() => readFrame(buffer(READINGS.slice(0, 40)))).toThrow(RangeError);
  expect(() => readFrame(buffer([1, 9, ...READINGS.slice(2)]))).toThrow(/version 9/);
  expect(() => readFrame(buffer([5, 1, ...READINGS.slice(2)]))).toThrow(/kind 5/);
  expect(() => readFrame(buffer([1, 1, 8, ...READINGS.slice(3)]))).toThrow(/table/);
  expect(() => readFrame(buffer([]))).toThrow(RangeError);
});
