import type { ReactiveController, ReactiveControllerHost } from "lit";
import { journalOf } from "../data/commands";
import type { PartFacts } from "../elements/part";

const SHOWN = 60;

/** What the journal says of a device and of all that hangs on it, read again as more of it happens. */
export class ThingJournal implements ReactiveController {
  events: PartFacts["journal"] = null;
  private device = "";
  private sequence = -1;
  private reading = false;

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {}

  /** Reads it where it may have changed, one question at a time: what happens meanwhile is asked for the next time. */
  async follow(deviceId: string, sequence: number): Promise<void> {
    if (this.reading || (deviceId === this.device && sequence === this.sequence)) return;
    if (deviceId !== this.device) this.events = null;
    this.device = deviceId;
    this.sequence = sequence;
    this.reading = true;
    const answer = await journalOf(deviceId, sequence);
    this.reading = false;
    this.events = answer.ok ? [...answer.value].sort((a, b) => b.sequence - a.sequence).slice(0, SHOWN) : "failed";
    this.host.requestUpdate();
  }
}
