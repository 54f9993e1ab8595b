import type { ReactiveController, ReactiveControllerHost } from "lit";
import type { Store } from "../data/store";
import { endCommand, type SettingAct, setValue } from "./acts";
import type { Answers } from "./detail_facts";

/** What somebody did in controls and what the console answered at once; the rest shows as commands. */
export class SettingAnswers implements ReactiveController {
  private dismissed: ReadonlySet<string> = new Set();
  private problems: ReadonlyMap<string, string> = new Map();

  constructor(
    private readonly host: ReactiveControllerHost,
    private readonly store: () => Store | null,
  ) {
    host.addController(this);
  }

  hostConnected(): void {}

  at(nowUtcUs: number): Answers {
    return { dismissed: this.dismissed, problems: this.problems, nowUtcUs };
  }

  /** Forgets what was refused, as another thing is looked at. */
  forget(): void {
    this.problems = new Map();
  }

  async take({ act, address, field, commandId, value }: SettingAct): Promise<void> {
    const store = this.store();
    if (store === null) return;
    const key = `${address} ${field}`;
    this.putProblem(key, "");
    if (act === "dismiss") {
      this.dismissed = new Set([...this.dismissed, commandId]);
      this.host.requestUpdate();
      return;
    }
    this.putProblem(
      key,
      act === "set" ? await setValue(store, address, field, value ?? "") : await endCommand(act, commandId),
    );
  }

  private putProblem(key: string, problem: string): void {
    const others = [...this.problems].filter(([known]) => known !== key);
    this.problems = new Map(problem === "" ? others : [...others, [key, problem]]);
    this.host.requestUpdate();
  }
}
