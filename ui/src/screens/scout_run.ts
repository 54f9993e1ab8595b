import type { ReactiveController, ReactiveControllerHost } from "lit";
import { askAct, levelsOf } from "../data/acts";
import { cancelCommand } from "../data/commands";
import type { Picture } from "../data/picture";
import { keepScan } from "../data/surveys";
import type { Command } from "../protocol/model";
import { actPhase } from "../pure/act_look";
import { joined } from "../pure/scan_lines";
import type { Span, Stretch } from "../pure/spectrum";
import { scoutWords } from "../words/scout_words";
import { requestProblem } from "./acts";

/** What is to be scanned, by which thing, and under which place it is kept. */
export interface ScanAsked {
  readonly address: string;
  readonly place: string;
  readonly span: Span;
  readonly stepHz: number;
}

const { take } = scoutWords;

/** A scan that was asked for here: what it finds as it goes, and that it is kept once it is done. */
export class ScanRun implements ReactiveController {
  asked: ScanAsked | null = null;
  command: Command | null = null;
  fraction: number | null = null;
  found: Stretch | null = null;
  problem = "";
  keeping: "" | "now" | "failed" = "";
  private commandId = "";
  private read = 0;
  private reading = false;

  constructor(
    private readonly host: ReactiveControllerHost,
    private readonly onKept: (scanId: string, place: string) => void,
  ) {
    host.addController(this);
  }

  hostConnected(): void {}

  get running(): boolean {
    return this.asked !== null && (this.command === null || actPhase(this.command, false) === "running");
  }

  async begin(asked: ScanAsked): Promise<void> {
    this.forget();
    this.asked = asked;
    this.commandId = crypto.randomUUID();
    const values = { start_hz: asked.span.fromHz, stop_hz: asked.span.toHz, step_hz: asked.stepHz };
    this.problem = requestProblem(await askAct(asked.address, "scan", values, this.commandId));
    if (this.problem !== "") this.asked = null;
    this.host.requestUpdate();
  }

  async cancel(): Promise<void> {
    this.problem = requestProblem(await cancelCommand(this.commandId));
    this.host.requestUpdate();
  }

  /** Looks at how far it is; reads what was found since, and keeps it when it is done. */
  follow(picture: Picture): void {
    const command = picture.commands.get(this.commandId) ?? null;
    if (this.asked === null || command === null) return;
    const progress = picture.progress.get(this.commandId);
    this.command = command;
    this.fraction = progress?.fraction ?? command.progress;
    if ((progress?.stretches ?? 0) > this.read) void this.readLevels(progress?.stretches ?? 0);
    if (command.state === "confirmed" && this.keeping === "") void this.keep();
  }

  /** Keeps what was found; also asked for by hand when it could not be kept at once. */
  async keep(): Promise<void> {
    const { asked } = this;
    if (asked === null) return;
    this.keeping = "now";
    const answer = await keepScan(this.commandId, asked.place);
    if (answer.ok) {
      this.forget();
      this.onKept(answer.value.scan_id, asked.place);
    } else {
      this.keeping = "failed";
      this.problem = take.failed(requestProblem(answer));
    }
    this.host.requestUpdate();
  }

  forget(): void {
    this.asked = null;
    this.command = null;
    this.fraction = null;
    this.found = null;
    this.problem = "";
    this.keeping = "";
    this.commandId = "";
    this.read = 0;
  }

  /** One question at a time; what an earlier scan found is no answer. */
  private async readLevels(stretches: number): Promise<void> {
    if (this.reading) return;
    const { commandId } = this;
    this.reading = true;
    const answer = await levelsOf(commandId);
    this.reading = false;
    if (!answer.ok || commandId !== this.commandId) return;
    this.read = stretches;
    this.found = joined(answer.value.stretches);
    this.host.requestUpdate();
  }
}
