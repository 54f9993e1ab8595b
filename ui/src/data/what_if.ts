import type { Forecast } from "../protocol/model";
import type { WhatIfRequest } from "../protocol/requests";
import { type Outcome, post } from "./request";

/** What changes would do to a plan; nothing is changed. */
export function askWhatIf(plan: string, asked: WhatIfRequest): Promise<Outcome<Forecast>> {
  return post(`plans/${encodeURIComponent(plan)}/what-if`, asked);
}
