import { expect, test } from "vitest";
import { assignSlots, NO_SLOTS, type Slotted, waiting } from "./slots";

const matter = (id: string, priority = 2, began = 0): Slotted => ({ matter_id: id, priority, began_utc_us: began });

test("matters take the lowest free slots in their order", () => {
  expect(assignSlots(NO_SLOTS, [matter("a"), matter("b")])).toEqual(["a", "b", null, null, null]);
});

test("a matter keeps its slot while others come and go", () => {
  const first = assignSlots(NO_SLOTS, [matter("a"), matter("b"), matter("c")]);
  const second = assignSlots(first, [matter("c"), matter("d", 1)]);
  expect(second).toEqual(["d", null, "c", null, null]);
});

test("a sixth matter waits", () => {
  const five = ["a", "b", "c", "d", "e"].map((id) => matter(id));
  const slots = assignSlots(NO_SLOTS, five);
  const more = [...five, matter("f")];
  expect(assignSlots(slots, more)).toEqual(slots);
  expect(waiting(slots, more)).toBe(1);
});

test("a priority 1 takes at once the slot of the least pressing, of those the latest", () => {
  const five = [matter("a", 2), matter("b", 3, 10), matter("c", 3, 20), matter("d", 2), matter("e", 1)];
  const slots = assignSlots(NO_SLOTS, five);
  const next = assignSlots(slots, [matter("x", 1, 30), ...five]);
  expect(next).toEqual(["a", "b", "x", "d", "e"]);
});

test("a priority 1 never drives out another", () => {
  const five = ["a", "b", "c", "d", "e"].map((id) => matter(id, 1));
  const slots = assignSlots(NO_SLOTS, five);
  expect(assignSlots(slots, [matter("x", 1), ...five])).toEqual(slots);
});

test("one that waits moves up when a slot is free", () => {
  const six = ["a", "b", "c", "d", "e", "f"].map((id) => matter(id));
  const slots = assignSlots(NO_SLOTS, six);
  expect(assignSlots(slots, six.slice(1))).toEqual(["f", "b", "c", "d", "e"]);
});
