import type { ReactiveController, ReactiveControllerHost } from "lit";
import { askAct, levelsOf, lockDevice, takeLease, unlockDevice } from "../data/acts";
import { cancelCommand, closeCommand } from "../data/commands";
import type { Stretch } from "../pure/spectrum";
import { actStateWords } from "../words/act_words";
import type { ActAnswers } from "./act_facts";
import { requestProblem } from "./acts";

type Value = boolean | number | string;

/** What somebody did with an act of a thing. */
export interface ThingAct {
  readonly act: "do" | "cancel" | "close" | "dismiss";
  readonly address: string;
  readonly name: string;
  readonly commandId: string;
  readonly values?: Readonly<Record<string, Value>>;
}

/** A permit that somebody asks for a device. */
export type Permit =
  | { readonly permit: "unlock"; readonly reason: string; readonly minutes: number }
  | { readonly permit: "lock" | "lease" };

/** What this screen was answered about acts and permits, what was seen, and the levels of scans. */
export class ThingAnswers implements ReactiveController {
  /** Why a permit was refused, or empty. */
  permitProblem = "";
  private dismissed: ReadonlySet<string> = new Set();
  private problems: ReadonlyMap<string, string> = new Map();
  private levels: ReadonlyMap<string, readonly Stretch[]> = new Map();
  private readonly reading = new Set<string>();
  private readonly readAt = new Map<string, number>();

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {}

  at(nowUtcUs: number): ActAnswers {
    return { dismissed: this.dismissed, problems: this.problems, levels: this.levels, nowUtcUs };
  }

  async take({ act, address, name, commandId, values }: ThingAct): Promise<void> {
    const key = `${address} ${name}`;
    this.putProblem(key, "");
    if (act === "dismiss") {
      this.dismissed = new Set([...this.dismissed, commandId]);
      this.host.requestUpdate();
      return;
    }
    this.putProblem(key, requestProblem(await this.ask({ act, address, name, commandId, values: values ?? {} })));
  }

  private ask({ act, address, name, commandId, values }: Required<ThingAct>) {
    if (act === "do") return askAct(address, name, values, crypto.randomUUID());
    if (act === "cancel") return cancelCommand(commandId);
    return closeCommand(commandId, actStateWords.closeReason);
  }

  async permit(deviceId: string, permit: Permit): Promise<void> {
    const answer =
      permit.permit === "unlock"
        ? await unlockDevice(deviceId, permit.reason, permit.minutes)
        : await (permit.permit === "lock" ? lockDevice(deviceId) : takeLease(deviceId));
    this.permitProblem = requestProblem(answer);
    this.host.requestUpdate();
  }

  /** Reads what a scan found, where more stretches are there than were read; one question at a time. */
  async readLevels(commandId: string, stretches: number): Promise<void> {
    if (this.reading.has(commandId) || (this.readAt.get(commandId) ?? 0) >= stretches) return;
    this.reading.add(commandId);
    const answer = await levelsOf(commandId);
    this.reading.delete(commandId);
    if (!answer.ok) return;
    this.readAt.set(commandId, stretches);
    this.levels = new Map([...this.levels, [commandId, answer.value.stretches]]);
    this.host.requestUpdate();
  }

  private putProblem(key: string, problem: string): void {
    const others = [...this.problems].filter(([known]) => known !== key);
    this.problems = new Map(problem === "" ? others : [...others, [key, problem]]);
    this.host.requestUpdate();
  }
}
