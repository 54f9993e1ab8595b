import type { ReactiveController, ReactiveControllerHost } from "lit";
import { stepShow } from "../data/commands";
import type { Picture } from "../data/picture";
import type { AheadFacts, RedpollAhead } from "../elements/ahead";
import { aheadWords } from "../words/ahead_words";
import { aheadFacts } from "./ahead_facts";
import type { Said } from "./said";

/** A step of the show clock, and the place that was seen. */
export interface ShowStep {
  readonly step: "advance" | "back";
  readonly revision: number;
}

const EVERY_US = 5e6;
const STALE = 412;

type Host = ReactiveControllerHost & { readonly renderRoot: HTMLElement | DocumentFragment };

/** The band *Ahead*: its facts anew every five seconds or when something was done, its steps by key and pointer. */
export class Evening implements ReactiveController {
  private nowUtcUs = 0;
  private readonly onKeyUp = () => this.band()?.letGo();

  constructor(
    private readonly host: Host,
    private readonly said: Said,
  ) {
    host.addController(this);
  }

  hostConnected(): void {
    document.addEventListener("keyup", this.onKeyUp);
  }

  hostDisconnected(): void {
    document.removeEventListener("keyup", this.onKeyUp);
  }

  takeTime(utcUs: number): void {
    if (Math.abs(utcUs - this.nowUtcUs) < EVERY_US) return;
    this.nowUtcUs = utcUs;
    this.host.requestUpdate();
  }

  /** What the band shows, or null while it has nothing to say. */
  facts(picture: Picture): AheadFacts | null {
    if (this.nowUtcUs === 0) return null;
    const facts = aheadFacts({ production: picture.production, ahead: picture.ahead, nowUtcUs: this.nowUtcUs });
    const empty = facts.cues.length === 0 && facts.labels.length === 0 && facts.advance === "" && facts.back === "";
    return empty ? null : facts;
  }

  press(step: "advance" | "back"): void {
    this.band()?.press(step);
  }

  step({ step, revision }: ShowStep): void {
    void stepShow(step, revision).then((outcome) => {
      if (outcome.ok) this.said.say(aheadWords.moved);
      else if (outcome.problem?.status === STALE) this.said.say(aheadWords.changedMeanwhile);
      else this.said.say(outcome.problem?.detail ?? aheadWords.notMoved);
    });
  }

  private band(): RedpollAhead | null {
    return this.host.renderRoot.querySelector<RedpollAhead>("redpoll-ahead");
  }
}
