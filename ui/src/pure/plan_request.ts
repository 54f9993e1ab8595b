/** What a frequency plan is asked for, as the console keeps it. Lists that a kept request leaves out are empty here. */

export interface PlanWindow {
  readonly start_hz: number;
  readonly stop_hz: number;
}

export interface PlanExclusion extends PlanWindow {
  readonly words: string;
}

/** Somebody else's carrier: kept off, and its products counted. An empty zone means everywhere. */
export interface PlanProtected {
  readonly frequency_hz: number;
  readonly spacing_hz: number;
  readonly zone: string;
  readonly words: string;
}

export interface PlanTuning {
  readonly name: string;
  readonly step_hz: number;
  readonly ranges: readonly (readonly [number, number])[];
}

/** What a kind of carrier needs; a guard of 0 switches its family off. */
export interface PlanProfile {
  readonly name: string;
  readonly spacing_hz: number;
  readonly third_two_signal_hz: number;
  readonly third_three_signal_hz: number;
  readonly fifth_two_signal_hz: number;
  readonly carrier_to_interference_db?: number | null;
  readonly isolation_db?: number | null;
}

export const GROUP_KINDS = ["microphone", "in_ear", "talkback"] as const;
export type GroupKind = (typeof GROUP_KINDS)[number];

export interface PlanGroup {
  readonly name: string;
  readonly zone: string;
  readonly profile: string;
  readonly count: number;
  readonly spares: number;
  readonly kind: GroupKind;
  readonly tuning: string;
  readonly fixed_hz: readonly number[];
  readonly locked_hz: readonly number[];
}

/** Two zones of which one hears the other that much less; left out, they don't hear one another at all. */
export interface PlanIsolation {
  readonly zones: readonly [string, string];
  readonly isolation_db?: number | null;
}

export interface PlanScene {
  readonly name: string;
  readonly groups: readonly string[];
}

/** Whether the search ends once everybody stands, or goes on for the best worst margin. */
export const AIMS = ["most", "margin"] as const;
export type Aim = (typeof AIMS)[number];

export interface PlanRequest {
  readonly raster_hz: number;
  readonly aim?: Aim;
  readonly window: readonly PlanWindow[];
  readonly exclusion: readonly PlanExclusion[];
  readonly protected: readonly PlanProtected[];
  readonly tuning: readonly PlanTuning[];
  readonly profile: readonly PlanProfile[];
  readonly group: readonly PlanGroup[];
  readonly isolation: readonly PlanIsolation[];
  readonly scene: readonly PlanScene[];
}

/** Common practice for analog carriers: equal care for products of two and of three. */
export const ANALOG_PROFILE: PlanProfile = {
  name: "analog",
  spacing_hz: 400_000,
  third_two_signal_hz: 200_000,
  third_three_signal_hz: 150_000,
  fifth_two_signal_hz: 100_000,
};

/** Common practice for digital carriers: they bear equal spacing, products counting as noise. */
export const DIGITAL_PROFILE: PlanProfile = {
  name: "digital",
  spacing_hz: 400_000,
  third_two_signal_hz: 0,
  third_three_signal_hz: 0,
  fifth_two_signal_hz: 0,
};

export const EMPTY_REQUEST: PlanRequest = {
  raster_hz: 25_000,
  window: [],
  exclusion: [],
  protected: [],
  tuning: [],
  profile: [ANALOG_PROFILE, DIGITAL_PROFILE],
  group: [],
  isolation: [],
  scene: [],
};

const PLAIN_EXCLUSION = { words: "" };
const PLAIN_PROTECTED = { spacing_hz: 0, zone: "", words: "" };
const PLAIN_PROFILE = { third_two_signal_hz: 0, third_three_signal_hz: 0, fifth_two_signal_hz: 0 };
const PLAIN_GROUP = { spares: 0, kind: "microphone", tuning: "", fixed_hz: [], locked_hz: [] } as const;

/** A kept request with all its lists; what this screen doesn't know stays in it. */
export function requestOf(kept: Readonly<Record<string, unknown>>): PlanRequest {
  const request = { ...EMPTY_REQUEST, profile: [], ...(kept as Partial<PlanRequest>) };
  return {
    ...request,
    exclusion: request.exclusion.map((one) => ({ ...PLAIN_EXCLUSION, ...one })),
    protected: request.protected.map((one) => ({ ...PLAIN_PROTECTED, ...one })),
    profile: request.profile.map((one) => ({ ...PLAIN_PROFILE, ...one })),
    group: request.group.map((one) => ({ ...PLAIN_GROUP, ...one })),
  };
}

/** How many carriers are asked for, without the spares. */
export function askedFor(request: PlanRequest): number {
  return request.group.reduce((sum, group) => sum + group.count, 0);
}

/** The zones of a request in the order of its groups. */
export function zonesOf(request: PlanRequest): string[] {
  return [...new Set(request.group.map((group) => group.zone))];
}

export function groupNamed(request: PlanRequest, name: string): PlanGroup | undefined {
  return request.group.find((group) => group.name === name);
}

export function profileOf(request: PlanRequest, groupName: string): PlanProfile | undefined {
  const group = groupNamed(request, groupName);
  return request.profile.find((profile) => profile.name === group?.profile);
}

/** The widest guard of a profile, which is how far products are kept off at the most. */
export function widestGuard(profile: PlanProfile | undefined): number {
  if (profile === undefined) return 0;
  return Math.max(profile.third_two_signal_hz, profile.third_three_signal_hz, profile.fifth_two_signal_hz);
}

/** Whether carriers of one zone are heard in another at all. */
export function hears(request: PlanRequest, zone: string, other: string): boolean {
  return !request.isolation.some(
    ({ zones, isolation_db }) =>
      (isolation_db ?? null) === null && zones.includes(zone) && zones.includes(other) && zone !== other,
  );
}

/** Whether two groups are ever on air together; without scenes everybody is. */
export function together(request: PlanRequest, group: string, other: string): boolean {
  if (request.scene.length === 0) return true;
  return request.scene.some(({ groups }) => groups.includes(group) && groups.includes(other));
}

/** The request as it is sent: without lists and words that say nothing, for what is left out is the same. */
export function tidied(request: PlanRequest): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(request)
      .filter(([, value]) => !saysNothing(value))
      .map(([key, value]) => [key, Array.isArray(value) ? value.map(tidiedEntry) : value]),
  );
}

const PLAIN_ENTRY: Readonly<Record<string, unknown>> = { spares: 0, kind: "microphone" };

function tidiedEntry(entry: object): object {
  return Object.fromEntries(
    Object.entries(entry).filter(([key, value]) => !saysNothing(value) && PLAIN_ENTRY[key] !== value),
  );
}

function saysNothing(value: unknown): boolean {
  return value === "" || value === null || (Array.isArray(value) && value.length === 0);
}
