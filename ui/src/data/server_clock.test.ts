import { expect, test } from "vitest";
import { ServerClock } from "./server_clock";

const UTC = 1_700_000_000e6;

test("the console's time goes on between frames", () => {
  const clock = new ServerClock();
  clock.begin(UTC, 5e6, 1000);
  const at = clock.secondsOf(5e6);
  expect(clock.seconds(1000)).toBeCloseTo(at, 6);
  expect(clock.seconds(3500)).toBeCloseTo(at + 2.5, 6);
  expect(clock.utcUs(at)).toBeCloseTo(UTC, -1);
});

test("a frame that was held up doesn't set the clock back", () => {
  const clock = new ServerClock();
  clock.begin(UTC, 5e6, 1000);
  clock.take(5.1e6, 2500);
  expect(clock.seconds(2500)).toBeCloseTo(clock.secondsOf(5e6) + 1.5, 6);
});

test("a frame that came faster than the others sets it right", () => {
  const clock = new ServerClock();
  clock.begin(UTC, 5e6, 1400);
  clock.take(5.2e6, 1200);
  expect(clock.seconds(1200)).toBeCloseTo(clock.secondsOf(5.2e6), 6);
});

test("a console that was restarted, with another monotonic scale, goes on along the same scale of strands", () => {
  const clock = new ServerClock();
  clock.begin(UTC, 900e6, 0);
  const before = clock.secondsOf(900e6);
  clock.begin(UTC + 30e6, 2e6, 30_000);
  expect(clock.secondsOf(2e6) - before).toBeCloseTo(30, 6);
  expect(clock.secondsOfUtc(UTC + 30e6)).toBeCloseTo(clock.secondsOf(2e6), 6);
});
