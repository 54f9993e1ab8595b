import type { ActCapability, Capability, Place } from "../protocol/model";
import { sheetWords } from "./sheet_words";

type Value = boolean | number | string;
type Setting = Pick<Capability, "field" | "guarded">;

const { cautions } = sheetWords;

/** One line that somebody should have read before setting this, or empty. */
export function cautionOf(place: Place, capability: Setting, value: Value): string {
  if (capability.guarded) return cautions.ears;
  switch (capability.field) {
    case "rf_power_mw":
    case "rf_on":
      return value === false ? "" : cautions.power;
    case "standby":
      return value === false ? cautions.wake : "";
    case "phantom":
    case "bias":
      return cautions.phantom;
    case "feed_powered":
    case "boost_db":
      return cautions.feed;
    case "cell_type":
      return cautions.cells;
    case "encryption":
      return cautions.keys;
    case "muted":
      return place === "pack" && value === false ? cautions.wake : "";
    default:
      return "";
  }
}

/** The same of an act. */
export function cautionOfAct(act: Pick<ActCapability, "act" | "guarded">): string {
  if (act.guarded) return act.act === "tone" ? `${cautions.tone} ${cautions.ears}` : cautions.ears;
  if (act.act === "tone") return cautions.tone;
  return act.act.endsWith("_key") ? cautions.keys : "";
}
