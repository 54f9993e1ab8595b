import { expect, test } from "vitest";
import type { Command } from "../protocol/model";
import { controlLook, latestCommand } from "./control_look";

function command(state: Command["state"], parts: Partial<Command> = {}): Command {
  return {
    command_id: "c",
    target: "pack/k01",
    device_id: "house-1",
    changes: { low_cut_hz: 100 },
    revision: "b.1",
    requested_by: "engineer",
    requested_utc_us: 0,
    state,
    changed_utc_us: 0,
    reason: "",
    outcomes: [],
    deadline_monotonic_us: null,
    unrecorded: false,
    act: "",
    progress: null,
    result: {},
    ...parts,
  };
}

test("requested, unknown, refused and confirmed are four looks", () => {
  const look = (state: Command["state"]) => controlLook("low_cut_hz", command(state), false).look;
  for (const state of ["requested", "sent", "accepted", "waiting for wake", "waiting for a hand"] as const) {
    expect(look(state)).toBe("requested");
  }
  expect(look("unknown")).toBe("unknown");
  for (const state of ["refused", "expired", "not applied"] as const) expect(look(state)).toBe("refused");
  expect(look("confirmed")).toBe("confirmed");
  for (const state of ["superseded", "cancelled", "closed"] as const) expect(look(state)).toBe("resting");
});

test("what was asked stays in sight until it is done or seen", () => {
  expect(controlLook("low_cut_hz", command("sent"), false).asked).toBe(100);
  expect(controlLook("low_cut_hz", command("unknown"), true).asked).toBe(100);
  expect(controlLook("low_cut_hz", command("refused"), false).asked).toBe(100);
  expect(controlLook("low_cut_hz", command("refused"), true).asked).toBeNull();
});

test("partly done is told field by field", () => {
  const outcomes = [
    { field: "low_cut_hz", done: true, reason: "" },
    { field: "rf_power_mw", done: false, reason: "its panel is locked" },
  ];
  const partly = command("partly done", { outcomes, changes: { low_cut_hz: 100, rf_power_mw: 50 } });
  expect(controlLook("low_cut_hz", partly, false).look).toBe("confirmed");
  expect(controlLook("rf_power_mw", partly, false)).toEqual({
    look: "refused",
    asked: 50,
    reason: "its panel is locked",
  });
});

test("the latest command on a field counts", () => {
  const early = command("refused", { command_id: "early", requested_utc_us: 1 });
  const late = command("sent", { command_id: "late", requested_utc_us: 2 });
  const other = command("sent", { command_id: "other", requested_utc_us: 3, target: "pack/k02" });
  expect(latestCommand([late, early, other], "pack/k01", "low_cut_hz")?.command_id).toBe("late");
  expect(latestCommand([other], "pack/k01", "low_cut_hz")).toBeNull();
});
