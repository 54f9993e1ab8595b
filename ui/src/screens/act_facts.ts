import type { Picture } from "../data/picture";
import type { ActProgress } from "../elements/act";
import type { ActCapability, Command, DeviceView } from "../protocol/model";
import { latestAct } from "../pure/act_look";
import type { Stretch } from "../pure/spectrum";
import { words } from "../words/english";
import { guardOf, lockedDevice } from "./setting_facts";

/** One act of one thing as the sheet shows it. */
export interface ActFacts {
  readonly capability: ActCapability;
  readonly command: Command | null;
  readonly progress: ActProgress | null;
  readonly dismissed: boolean;
  readonly problem: string;
  readonly locked: string;
  readonly stretches: readonly Stretch[];
}

/** What this screen knows of acts beside what the console tells: answers, what was seen, the levels that it read. */
export interface ActAnswers {
  readonly dismissed: ReadonlySet<string>;
  /** By address and act. */
  readonly problems: ReadonlyMap<string, string>;
  readonly levels: ReadonlyMap<string, readonly Stretch[]>;
  readonly nowUtcUs: number;
}

/** How an act ended is news for so long, if nobody waves it away before. */
const ENDED_SHOWN_US = 300e6;

/** What can be done to a thing through a device. */
export function actFacts(
  picture: Picture,
  device: DeviceView | undefined,
  address: string,
  answers: ActAnswers,
): ActFacts[] {
  const offered = device?.description?.acts.filter((act) => act.targets.includes(address)) ?? [];
  const engineer = picture.person.roles.includes("engineer");
  const locked = lockedDevice(device) || (engineer ? "" : words.control.notAllowed("engineer"));
  return offered.map((capability) => {
    const latest = latestAct(picture.commands.values(), address, capability.act);
    const old = latest?.state === "confirmed" && answers.nowUtcUs - latest.changed_utc_us > ENDED_SHOWN_US;
    const command = old ? null : latest;
    const id = command?.command_id ?? "";
    return {
      capability,
      command,
      progress: picture.progress.get(id) ?? null,
      dismissed: answers.dismissed.has(id),
      problem: answers.problems.get(`${address} ${capability.act}`) ?? "",
      locked: locked || guardOf(device, capability),
      stretches: answers.levels.get(id) ?? [],
    };
  });
}
