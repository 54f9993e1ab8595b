import type { Picture } from "../data/picture";
import type { PlanWindow } from "../pure/plan_request";
import type { Span } from "../pure/spectrum";
import { together } from "../pure/stretches";

/** What the receivers in view tune to, as windows; none where nothing says. */
export function tuningWindows(picture: Picture | null): PlanWindow[] {
  const spans: Span[] = [];
  for (const device of picture?.devices.values() ?? []) {
    for (const { field, schema } of device.description?.capabilities ?? []) {
      if (field !== "frequency_hz" || schema.minimum === null || schema.maximum === null) continue;
      spans.push({ fromHz: schema.minimum, toHz: schema.maximum });
    }
  }
  return together(spans).map(({ fromHz, toHz }) => ({ start_hz: fromHz, stop_hz: toHz }));
}
