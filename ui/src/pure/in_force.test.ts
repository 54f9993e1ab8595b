import { describe, expect, it } from "vitest";
import type { Capability } from "../protocol/model";
import { inForce, settingsInForce } from "./in_force";
import { sameValue } from "./same_value";

function capability(parts: Partial<Capability>): Capability {
  return {
    targets: ["sink-1/carrier/1"],
    field: "squelch_dbm",
    schema: { type: "number", minimum: null, maximum: null, multiple_of: null, enum: [], maximum_length: 64 },
    held: "receiver",
    unit: "",
    words: "",
    writable: true,
    inferred: false,
    mutes: false,
    needs_awake: false,
    needs_hand: false,
    fastest_interval_ms: 1000,
    accept_within_ms: 2000,
    confirm_within_ms: 5000,
    revisions_synthesised: false,
    guarded: false,
    when: [],
    ...parts,
  };
}

const narrow = capability({ words: "narrow", when: [{ field: "mode", values: ["narrow"], address: "" }] });
const wide = capability({ words: "wide", when: [{ field: "mode", values: ["wide", "dense"], address: "" }] });
const elsewhere = capability({ words: "eu", when: [{ field: "region", values: ["eu"], address: "sink-1" }] });
const always = capability({ words: "always" });

const reporting = (mode: string) => (address: string) =>
  address === "sink-1" ? { region: "eu" } : address === "sink-1/carrier/1" ? { mode } : {};

describe("inForce", () => {
  it("is the first whose conditions hold", () => {
    expect(inForce([narrow, wide], "sink-1/carrier/1", reporting("dense"))?.words).toBe("wide");
    expect(inForce([narrow, wide, always], "sink-1/carrier/1", reporting("other"))?.words).toBe("always");
  });

  it("is none where none holds, and none by what was never reported", () => {
    expect(inForce([narrow, wide], "sink-1/carrier/1", reporting("other"))).toBeNull();
    expect(inForce([narrow], "sink-1/carrier/2", reporting("narrow"))).toBeNull();
  });

  it("looks at another thing where the condition names one", () => {
    expect(inForce([elsewhere], "sink-1/carrier/1", reporting("x"))?.words).toBe("eu");
  });

  it("takes 80 and 80.0 for the same, and true and 1 for two things", () => {
    expect(sameValue(80, 80 * (1 + 1e-12))).toBe(true);
    expect(sameValue(80, 80.001)).toBe(false);
    expect(sameValue(true, 1)).toBe(false);
    expect(sameValue("1", 1)).toBe(false);
  });
});

describe("settingsInForce", () => {
  it("gives one capability a setting, of the target alone, in the device's order", () => {
    const gain = capability({ field: "gain", targets: ["sink-1/carrier/1", "sink-1/carrier/2"] });
    const other = capability({ field: "other", targets: ["sink-1/carrier/2"] });
    const found = settingsInForce([gain, narrow, wide, other], "sink-1/carrier/1", reporting("wide"));
    expect(found.map((one) => `${one.field} ${one.words}`.trim())).toEqual(["gain", "squelch_dbm wide"]);
  });
});
