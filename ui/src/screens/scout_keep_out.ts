import type { ReactiveController, ReactiveControllerHost } from "lit";
import { keepPlan, listPlans, readPlan } from "../data/plans";
import type { Plan, PlanFacts } from "../protocol/model";
import { type PlanExclusion, type PlanRequest, requestOf } from "../pure/plan_request";
import { scoutWords } from "../words/scout_words";
import { requestProblem } from "./acts";
import { emptyPlan, planToKeep, slugOf } from "./chart_draft";

const STRETCHES_MOST = 1000;
const { keep } = scoutWords;

/** What a plan keeps out. Every change is written at once, as a new revision of the plan. */
export class KeptOut implements ReactiveController {
  plans: readonly PlanFacts[] = [];
  name = "";
  plan: Plan | null = null;
  /** How the last change stands: being written, written, or why not. */
  state = "";
  private tag = "";
  private busy: Promise<unknown> = Promise.resolve();

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {
    void this.readPlans();
  }

  get exclusions(): readonly PlanExclusion[] {
    return this.plan === null ? [] : requestOf(this.plan.request).exclusion;
  }

  get rasterHz(): number {
    return this.plan === null ? 25_000 : requestOf(this.plan.request).raster_hz;
  }

  async readPlans(): Promise<void> {
    const answer = await listPlans();
    if (answer.ok) this.plans = answer.value;
    const first = this.plans[0];
    if (this.name === "" && first !== undefined) await this.choose(first.name);
    this.host.requestUpdate();
  }

  async choose(name: string): Promise<void> {
    this.name = name;
    this.state = "";
    await this.read();
  }

  /** Begins a plan of that title; says what became of it. */
  async begin(title: string, request: PlanRequest): Promise<string> {
    const name = slugOf(title, this.plans);
    const answer = await keepPlan(name, planToKeep(emptyPlan(title), request), "");
    if (!answer.ok) return this.say(keep.notKept(requestProblem(answer)));
    await this.readPlans();
    await this.choose(name);
    return this.say(keep.begun(title));
  }

  /** Keeps stretches out; says what became of it. */
  add(stretches: readonly PlanExclusion[]): Promise<string> {
    return this.change((before) => [...before, ...stretches]);
  }

  /** Lets a stretch in again. */
  remove(index: number): Promise<string> {
    return this.change((before) => before.filter((_, at) => at !== index));
  }

  /** One change after another, each from the revision that the one before made. */
  private change(next: (before: readonly PlanExclusion[]) => readonly PlanExclusion[]): Promise<string> {
    const done = this.busy.then(() => this.write(next(this.exclusions)));
    this.busy = done;
    return done;
  }

  private async write(exclusion: readonly PlanExclusion[]): Promise<string> {
    const { plan, name } = this;
    if (plan === null) return keep.noPlanAdvice;
    if (exclusion.length > STRETCHES_MOST) return this.say(keep.notKept(keep.tooMany(STRETCHES_MOST)));
    const sorted = [...exclusion].sort((one, other) => one.start_hz - other.start_hz);
    this.say(keep.saving);
    const answer = await keepPlan(name, { ...plan, request: { ...plan.request, exclusion: sorted } }, this.tag);
    if (answer.ok) {
      this.plan = answer.value.value;
      this.tag = answer.value.tag;
      return this.say(keep.kept(this.tag.replaceAll('"', "")));
    }
    const stale = answer.problem?.status === 412;
    if (stale) await this.read();
    return this.say(keep.notKept(stale ? keep.stale : requestProblem(answer)));
  }

  private async read(): Promise<void> {
    const { name } = this;
    const answer = await readPlan(name);
    if (this.name !== name) return;
    this.plan = answer.ok ? answer.value.value : null;
    this.tag = answer.ok ? answer.value.tag : "";
    if (!answer.ok) this.state = requestProblem(answer);
    this.host.requestUpdate();
  }

  private say(state: string): string {
    this.state = state;
    this.host.requestUpdate();
    return state;
  }
}
