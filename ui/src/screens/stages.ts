import type { ReactiveController, ReactiveControllerHost } from "lit";
import type { Picture } from "../data/picture";
import type { Store } from "../data/store";

/** The stages that have a screen, in the day's order. */
export const STAGES = ["scout", "chart", "heed"] as const;
export type Stage = (typeof STAGES)[number];

/** What the shell asks of the screen of a stage. What it has to say it gives as `redpoll-said`, with a text as detail. */
export interface StageScreen extends HTMLElement {
  store: Store | null;
  /** Changes with every event, so that the screen is drawn anew. */
  picture: Picture | null;
  /** The keys that act here alone, with their meaning, for the list of keys. */
  readonly keyList: readonly (readonly [string, string])[];
  /** Does what a key stands for here; says whether the key is used up. It is asked before the shell looks. */
  press(event: KeyboardEvent): boolean;
  /** Takes the colours of the theme anew. */
  recolour(): void;
}

/** The stage that an address names; the live watch where it names none. */
export function stageOf(hash: string): Stage {
  return STAGES.find((stage) => hash === `#${stage}`) ?? "heed";
}

/** Which stage is shown. The address says so, so that going back, reloading and a bookmark do what they should. */
export class StagePlace implements ReactiveController {
  current: Stage = stageOf(location.hash);
  private readonly onAddress = () => this.follow();

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {
    addEventListener("hashchange", this.onAddress);
    this.follow();
  }

  hostDisconnected(): void {
    removeEventListener("hashchange", this.onAddress);
  }

  /** Goes to a stage; the way back stays open. */
  go(stage: Stage): void {
    if (stage === this.current) return;
    history.pushState(null, "", `#${stage}`);
    this.follow();
  }

  private follow(): void {
    this.current = stageOf(location.hash);
    this.host.requestUpdate();
  }
}
