import type { ReactiveController, ReactiveControllerHost } from "lit";
import { isOver, searchFor } from "../data/jobs";
import { checkPlan, findCarriers, keepPlan, listPlans, productField, readJob, readPlan, stopJob } from "../data/plans";
import type { Job, Plan, PlanFacts, PlanVerdict, Problem, ProductField } from "../protocol/model";
import { givenToChannels } from "../pure/plan_channels";
import { EMPTY_REQUEST, type PlanRequest, requestOf } from "../pure/plan_request";
import { chartWords } from "../words/chart_words";
import { emptyPlan, planToKeep, slugOf } from "./chart_draft";
import type { Standing } from "./chart_facts";

const POLL_MS = 400;
/** A list that could not be read is asked for again. */
const AGAIN_MS = 3000;
const STALE = 412;

/** The plan that is on the screen: as it is kept, as its request is being changed, and the search for it. */
export class ChartPlan implements ReactiveController {
  plans: readonly PlanFacts[] | null = null;
  name = "";
  plan: Plan | null = null;
  /** The request as it is being changed. */
  request: PlanRequest = EMPTY_REQUEST;
  changed = false;
  job: Job | null = null;
  field: ProductField | null = null;
  verdict: PlanVerdict | null = null;
  /** What was refused, or went wrong, until the next act. */
  problem = "";
  /** The tag of the revision that was read; empty for a plan that isn't kept yet. */
  tag = "";
  private ask = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private listTimer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostConnected(): void {
    void this.readList();
  }

  hostDisconnected(): void {
    clearTimeout(this.timer);
    clearTimeout(this.listTimer);
    this.ask += 1;
  }

  /** What stands, or the best that a search under way has found. */
  get standing(): Standing {
    const best = this.searching ? this.job?.best : null;
    if (best) return { carriers: best.carriers, spares: [] };
    return { carriers: this.plan?.carriers ?? [], spares: this.plan?.spares ?? [] };
  }

  get searching(): boolean {
    return this.job !== null && !isOver(this.job);
  }

  /** Opens a plan of the list; what was changed of the one before is forgotten. */
  async open(name: string): Promise<void> {
    this.begin(name);
    const ask = this.ask;
    const outcome = await readPlan(name);
    if (ask !== this.ask) return;
    if (!outcome.ok) {
      this.fail(outcome.problem);
      return;
    }
    this.take(outcome.value.value, outcome.value.tag);
    await this.reckon();
    const job = await searchFor(name);
    if (ask === this.ask && job !== null) this.follow(job);
  }

  /** Reads the plan again where it stands, unless something of it was changed. */
  async readAgain(): Promise<void> {
    const ask = this.ask;
    const outcome = await readPlan(this.name);
    if (ask === this.ask && outcome.ok && !this.changed) this.take(outcome.value.value, outcome.value.tag);
  }

  /** Begins a plan that is not kept before it is searched for. */
  make(title: string, request: PlanRequest): void {
    const name = slugOf(title, this.plans ?? []);
    this.begin(name);
    this.plan = emptyPlan(title);
    this.request = request;
    this.changed = true;
    this.update();
  }

  change(request: PlanRequest): void {
    this.request = request;
    this.changed = true;
    this.update();
  }

  /** Holds a carrier where it is, or lets it go; kept at once. */
  async lock(zone: string, frequencyHz: number, locked: boolean): Promise<void> {
    if (this.plan === null) return;
    const carriers = this.plan.carriers.map((one) =>
      one.zone === zone && one.frequency_hz === frequencyHz ? { ...one, locked } : one,
    );
    await this.keep({ ...this.plan, carriers }, this.changed);
  }

  /** Means the carriers for the channels of their zones; kept at once. */
  async give(rows: Parameters<typeof givenToChannels>[1]): Promise<void> {
    if (this.plan === null) return;
    await this.keep({ ...this.plan, carriers: givenToChannels(this.plan.carriers, rows) }, this.changed);
  }

  /**
   * Keeps the request, and with it the carriers that it still has a place for. Says whether it was kept.
   *
   * `anew` says whether frequencies or rules may have changed, so that products and faults are reckoned again.
   */
  async keep(plan = this.plan, anew = true): Promise<boolean> {
    if (plan === null) return false;
    const ask = this.ask;
    const outcome = await keepPlan(this.name, planToKeep(plan, this.request), this.tag);
    if (ask !== this.ask) return false;
    if (!outcome.ok && outcome.problem?.status === STALE) {
      await this.open(this.name);
      this.problem = chartWords.changedMeanwhile;
      this.update();
      return false;
    }
    if (!outcome.ok) return this.fail(outcome.problem);
    this.take(outcome.value.value, outcome.value.tag);
    await Promise.all([anew ? this.reckon() : null, this.readList()]);
    return true;
  }

  /** Keeps what was changed, then searches. */
  async find(seed: number, seconds: number): Promise<void> {
    if (this.searching || this.plan === null) return;
    if ((this.changed || this.tag === "") && !(await this.keep())) return;
    const ask = this.ask;
    const outcome = await findCarriers(this.name, seed, seconds);
    if (ask !== this.ask) return;
    if (outcome.ok) this.follow(outcome.value);
    else this.fail(outcome.problem);
  }

  async stop(): Promise<void> {
    if (this.job === null || !this.searching) return;
    const outcome = await stopJob(this.job.job_id);
    if (!outcome.ok) this.fail(outcome.problem);
  }

  private async readList(): Promise<void> {
    const outcome = await listPlans();
    if (!outcome.ok) {
      this.fail(outcome.problem);
      clearTimeout(this.listTimer);
      this.listTimer = setTimeout(() => void this.readList(), AGAIN_MS);
      return;
    }
    if (this.plans === null) this.problem = "";
    this.plans = outcome.value;
    this.update();
    const first = this.plans[0];
    if (this.name === "" && first !== undefined) await this.open(first.name);
  }

  private begin(name: string): void {
    clearTimeout(this.timer);
    this.ask += 1;
    Object.assign(this, { name, plan: null, tag: "", job: null, field: null, verdict: null, problem: "" });
    this.request = EMPTY_REQUEST;
    this.changed = false;
    this.update();
  }

  private take(plan: Plan, tag: string): void {
    this.plan = plan;
    this.tag = tag;
    this.request = requestOf(plan.request);
    this.changed = false;
    this.problem = "";
    this.update();
  }

  /** Where the products of what stands fall, and which rules are broken. */
  private async reckon(): Promise<void> {
    const ask = this.ask;
    if (this.plan === null || this.plan.carriers.length === 0) {
      this.field = this.verdict = null;
      return this.update();
    }
    const [field, verdict] = await Promise.all([productField(this.name), checkPlan(this.name)]);
    if (ask !== this.ask) return;
    this.field = field.ok ? field.value : null;
    this.verdict = verdict.ok ? verdict.value : null;
    for (const outcome of [field, verdict]) if (!outcome.ok) this.fail(outcome.problem);
    this.update();
  }

  private follow(job: Job): void {
    this.job = job;
    this.problem = "";
    this.update();
    clearTimeout(this.timer);
    if (isOver(job)) void this.ended(job);
    else this.timer = setTimeout(() => void this.poll(job.job_id), POLL_MS);
  }

  private async poll(jobId: string): Promise<void> {
    const ask = this.ask;
    const outcome = await readJob(jobId);
    if (ask !== this.ask) return;
    if (outcome.ok) this.follow(outcome.value);
    else this.lose(outcome.problem);
  }

  /** The search can't be asked about: that is said, and it is looked at again by opening the plan. */
  private lose(problem: Problem | null): void {
    this.job = null;
    this.fail(problem);
  }

  private async ended(job: Job): Promise<void> {
    const ask = this.ask;
    const outcome = await readPlan(this.name);
    if (ask !== this.ask) return;
    if (!outcome.ok) {
      this.fail(outcome.problem);
      return;
    }
    this.take(outcome.value.value, outcome.value.tag);
    if (job.state === "failed") this.problem = job.words;
    await Promise.all([this.reckon(), this.readList()]);
  }

  private fail(problem: Problem | null): false {
    this.problem = problem === null ? chartWords.noAnswer : problem.detail || problem.title;
    this.update();
    return false;
  }

  private update(): void {
    this.host.requestUpdate();
  }
}
