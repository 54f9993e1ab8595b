/** Which matter stands in which of the five slots. A matter keeps its slot for as long as it is shown. */

export const SLOT_COUNT = 5;

export interface Slotted {
  readonly matter_id: string;
  readonly priority: number;
  readonly began_utc_us: number;
}

export type Slots = readonly (string | null)[];

export const NO_SLOTS: Slots = Array.from({ length: SLOT_COUNT }, () => null);

/**
 * The slots after a change. `matters` come root first, by priority, then by begin.
 *
 * Free slots are taken from the lowest number up. When all five are taken the others wait, but a matter of priority 1
 * takes at once the slot of the least pressing matter: the lowest priority, of those the latest.
 */
export function assignSlots(before: Slots, matters: readonly Slotted[]): Slots {
  const known = new Map(matters.map((matter) => [matter.matter_id, matter]));
  const after = before.map((id) => (id !== null && known.has(id) ? id : null));
  for (const matter of matters) {
    if (after.includes(matter.matter_id)) continue;
    const slot = freeSlot(after) ?? (matter.priority === 1 ? leastPressing(after, known) : null);
    if (slot !== null) after[slot] = matter.matter_id;
  }
  return after;
}

/** How many matters stand in no slot. */
export function waiting(slots: Slots, matters: readonly Slotted[]): number {
  return matters.filter((matter) => !slots.includes(matter.matter_id)).length;
}

function freeSlot(slots: Slots): number | null {
  const index = slots.indexOf(null);
  return index === -1 ? null : index;
}

function leastPressing(slots: Slots, known: ReadonlyMap<string, Slotted>): number | null {
  let found: number | null = null;
  let least: Slotted | null = null;
  for (const [index, id] of slots.entries()) {
    const matter = id === null ? undefined : known.get(id);
    if (matter === undefined || matter.priority === 1) continue;
    if (least === null || presses(least, matter)) [found, least] = [index, matter];
  }
  return found;
}

function presses(one: Slotted, other: Slotted): boolean {
  if (one.priority !== other.priority) return one.priority < other.priority;
  return one.began_utc_us < other.began_utc_us;
}
