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

/** What is to be scanned, how many times over, by which thing, and under which place it is kept. */
export interface ScanAsked {
  readonly address: string;
  readonly place: string;
  readonly span: Span;
  readonly stepHz: number;
  readonly sweeps: number;
}

const { take } = scoutWords;

/** Scans that were asked for here, one sweep after another: what they find as they go, and that it is kept when done. */
export class ScanRun implements ReactiveController {
  asked: ScanAsked | null = null;
  /** The sweep under way, or the last. */
  command: Command | null = null;
  /** What all sweeps have found so far. */
  found: Stretch | null = null;
  problem = "";
  keeping: "" | "now" | "failed" = "";
  /** The sweeps that are done, as their commands. */
  done: readonly string[] = [];
  private share: number | null = null;
  private before: Stretch | null = null;
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
    if (this.asked === null || this.keeping !== "") return false;
    return this.command === null || actPhase(this.command, false) === "running";
  }

  /** How much of all sweeps is done; null where the device doesn't tell. */
  get fraction(): number | null {
    if (this.asked === null || (this.share === null && this.done.length === 0)) return null;
    return Math.min((this.done.length + (this.share ?? 0)) / this.asked.sweeps, 1);
  }

  async begin(asked: ScanAsked): Promise<void> {
    this.forget();
    this.asked = asked;
    await this.sweep(asked);
    if (this.problem !== "") this.asked = null;
  }

  async cancel(): Promise<void> {
    this.problem = requestProblem(await cancelCommand(this.commandId));
    this.host.requestUpdate();
  }

  /** Looks at how far it is; reads what was found since, goes on to the next sweep, and keeps all when the last is done. */
  follow(picture: Picture): void {
    const command = picture.commands.get(this.commandId) ?? null;
    if (this.asked === null || command === null) return;
    const progress = picture.progress.get(this.commandId);
    this.command = command;
    this.share = progress?.fraction ?? command.progress;
    if ((progress?.stretches ?? 0) > this.read) void this.readLevels(progress?.stretches ?? 0);
    if (command.state === "confirmed" && !this.done.includes(this.commandId)) this.finish(this.asked);
  }

  /** Keeps what was found; also asked for by hand when it could not be kept at once, or was given up half-way. */
  async keep(): Promise<void> {
    const { asked } = this;
    if (asked === null) return;
    this.keeping = "now";
    const answer = await keepScan(this.done, asked.place);
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
    this.found = null;
    this.before = null;
    this.problem = "";
    this.keeping = "";
    this.done = [];
    this.startAnew("");
  }

  private finish(asked: ScanAsked): void {
    this.done = [...this.done, this.commandId];
    this.share = 0;
    this.before = this.found;
    if (this.done.length < asked.sweeps) void this.sweep(asked);
    else void this.keep();
  }

  private async sweep(asked: ScanAsked): Promise<void> {
    this.startAnew(crypto.randomUUID());
    const values = { start_hz: asked.span.fromHz, stop_hz: asked.span.toHz, step_hz: asked.stepHz };
    this.problem = requestProblem(await askAct(asked.address, "scan", values, this.commandId));
    if (this.problem !== "") this.keeping = this.done.length > 0 ? "failed" : "";
    this.host.requestUpdate();
  }

  private startAnew(commandId: string): void {
    this.commandId = commandId;
    this.command = null;
    this.share = null;
    this.read = 0;
  }

  /** One question at a time; what an earlier sweep found is no answer. */
  private async readLevels(stretches: number): Promise<void> {
    if (this.reading) return;
    const { commandId, before } = this;
    this.reading = true;
    const answer = await levelsOf(commandId);
    this.reading = false;
    if (!answer.ok || commandId !== this.commandId) return;
    this.read = stretches;
    this.found = joined([...(before === null ? [] : [before]), ...answer.value.stretches]);
    this.host.requestUpdate();
  }
}
