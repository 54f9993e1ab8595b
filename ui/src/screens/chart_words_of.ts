import type { FoundFacts, FoundLine } from "../elements/plan_found";
import type { PlanHeadFacts } from "../elements/plan_head";
import type { Mast } from "../plots/lanes";
import { ageWords, decimal, whole } from "../pure/number_words";
import { askedFor, type PlanRequest } from "../pure/plan_request";
import { chartWords } from "../words/chart_words";
import type { ChartPlan } from "./chart_plan";

/** How a plan stands, in the words and lines that its screen shows. */

export function headFacts(chart: ChartPlan, engineer: boolean): PlanHeadFacts {
  return {
    plans: chart.plans ?? [],
    name: chart.name,
    title: chart.plan?.title ?? chart.name,
    stands: standsWords(chart),
    search: chart.searching && chart.job !== null ? searchWords(chart) : null,
    mayWrite: engineer,
    cant: cantFind(chart.request),
  };
}

function cantFind(request: PlanRequest): string {
  return request.group.length === 0 || request.window.length === 0 ? chartWords.nothingAsked : "";
}

function standsWords({ plan, request, changed, verdict, plans, problem }: ChartPlan): string {
  if (plan === null) return plans === null && problem === "" ? chartWords.loading : "";
  const parts: string[] = [];
  const asked = askedFor(request);
  if (plan.carriers.length > 0) {
    parts.push(chartWords.stand(plan.carriers.length, asked), marginWords(plan.worst_margin_hz));
    if (plan.spares.length > 0) parts.push(chartWords.spares(plan.spares.length));
    if ((verdict?.faults.length ?? 0) > 0) parts.push(chartWords.broken(verdict?.faults.length ?? 0));
  } else parts.push(asked === 0 ? chartWords.nothingAsked : chartWords.asked(asked));
  if (changed) parts.push(chartWords.changed);
  return parts.join(" · ");
}

function marginWords(marginHz: number | null): string {
  return marginHz === null
    ? chartWords.noMargin
    : chartWords.margin(decimal(marginHz / 1e3, marginHz % 1e3 === 0 ? 0 : 1));
}

function searchWords({ job }: ChartPlan): PlanHeadFacts["search"] {
  if (job === null) return null;
  const parts: string[] = [chartWords.jobStates[job.state]];
  if (job.best !== null) {
    parts.push(chartWords.searching(job.best.carriers.length, job.best.asked, whole(job.seconds)));
    if (job.best.at_most !== null && job.best.at_most < job.best.asked) parts.push(chartWords.atMost(job.best.at_most));
    if (job.best.carriers.length > 0) parts.push(marginWords(job.best.worst_margin_hz));
  }
  return { progress: job.progress, words: parts.join(" · ") };
}

/** What was found, as lines whose indices are those of the masts. */
export function foundFacts(chart: ChartPlan, masts: readonly Mast[], nowUtcUs: number): FoundFacts {
  const { carriers, spares } = chart.standing;
  const { plan, request, verdict, searching } = chart;
  const asked = askedFor(request);
  const short = plan !== null && plan.carriers.length > 0 && plan.carriers.length < asked && !searching;
  return {
    groups: request.group.map((group) => {
      const mine = carriers.flatMap((one, index) => (one.group === group.name ? [lineOf(masts, index, "")] : []));
      return {
        name: group.name,
        words: chartWords.groupWords(group.profile, mine.length, group.count),
        lines: sorted(mine),
      };
    }),
    spares: [...spares.keys()]
      .sort((one, other) => (spares[one]?.rank ?? 0) - (spares[other]?.rank ?? 0))
      .map((index) => lineOf(masts, carriers.length + index, spareWords(spares[index], nowUtcUs))),
    faults: searching ? [] : (verdict?.faults ?? []),
    cant: short ? { stand: plan.carriers.length, asked } : null,
    relaxations: plan?.relaxations ?? [],
    bands: plan?.bands ?? [],
    again: plan === null || plan.steps === 0 ? "" : chartWords.again(plan.seed, plan.steps),
  };
}

type Spare = ChartPlan["standing"]["spares"][number];

function spareWords(spare: Spare | undefined, nowUtcUs: number): string {
  if (spare === undefined) return "";
  const at = spare.quiet_at_utc_us;
  if (at === null) return `${spare.group}, ${chartWords.neverQuiet}`;
  const age = ageWords((nowUtcUs - at) / 1e6);
  const quiet = spare.quiet_dbm === null ? chartWords.quiet(age) : chartWords.quietLevel(age, whole(spare.quiet_dbm));
  return `${spare.group}, ${quiet}`;
}

function lineOf(masts: readonly Mast[], index: number, words: string): FoundLine {
  const mast = masts[index];
  const held = mast?.look === "locked" ? chartWords.locked : mast?.look === "fixed" ? chartWords.fixed : "";
  return { index, frequencyHz: mast?.frequencyHz ?? 0, words, held, broken: mast?.broken ?? false };
}

function sorted(lines: readonly FoundLine[]): FoundLine[] {
  return [...lines].sort((one, other) => one.frequencyHz - other.frequencyHz);
}
