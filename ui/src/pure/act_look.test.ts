import { describe, expect, it } from "vitest";
import type { Command } from "../protocol/model";
import { dangerOfAct } from "./act_danger";
import { actPhase, latestAct } from "./act_look";
import { keyMatch } from "./same_key";

function command(parts: Partial<Command>): Command {
  return {
    command_id: "1",
    target: "sink-1",
    device_id: "sink-1",
    changes: {},
    revision: "",
    requested_by: "engineer",
    requested_utc_us: 1,
    state: "accepted",
    changed_utc_us: 1,
    reason: "",
    outcomes: [],
    deadline_monotonic_us: null,
    unrecorded: false,
    act: "scan",
    progress: null,
    result: {},
    ...parts,
  };
}

describe("an act", () => {
  it("is told by the latest command of that name on that thing", () => {
    const [old, latest] = [command({}), command({ command_id: "2", requested_utc_us: 2 })];
    const others = [command({ act: "tone", requested_utc_us: 9 }), command({ target: "x", requested_utc_us: 9 })];
    expect(latestAct([latest, old, ...others], "sink-1", "scan")).toBe(latest);
    expect(latestAct(others, "sink-1", "scan")).toBeNull();
  });

  it("runs until its device says how it ended, and stays in doubt until somebody closes it", () => {
    expect(actPhase(null, false)).toBe("resting");
    expect(actPhase(command({ state: "waiting for a hand" }), false)).toBe("running");
    expect(actPhase(command({ state: "confirmed" }), false)).toBe("done");
    expect(actPhase(command({ state: "unknown" }), true)).toBe("unknown");
  });

  it("shows how it ended until that was seen", () => {
    expect(actPhase(command({ state: "refused" }), false)).toBe("not done");
    expect(actPhase(command({ state: "refused" }), true)).toBe("resting");
    expect(actPhase(command({ state: "closed" }), false)).toBe("resting");
  });

  it("is held where it mutes or may hurt, and clicked where it doesn't", () => {
    expect(dangerOfAct({ act: "identify", mutes_for_ms: 0, guarded: false })).toBe("none");
    expect(dangerOfAct({ act: "scan", mutes_for_ms: 900, guarded: false })).toBe("mutes");
    expect(dangerOfAct({ act: "restart", mutes_for_ms: 0, guarded: false })).toBe("restarts");
    expect(dangerOfAct({ act: "whistle", mutes_for_ms: 0, guarded: true })).toBe("guarded");
  });
});

describe("keyMatch", () => {
  it("tells same from not the same, and knows when it knows nothing", () => {
    expect(keyMatch("9f3a", "9f3a")).toBe("same");
    expect(keyMatch("9f3a", "117c")).toBe("not the same");
    expect(keyMatch("9f3a", "")).toBe("one has none");
    expect(keyMatch("9f3a", undefined)).toBe("not known");
  });
});
