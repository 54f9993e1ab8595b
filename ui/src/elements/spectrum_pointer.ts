/** Where a finger or a mouse is: in pixels from the left of the picture, and in which of its layers. */
export interface Touch {
  readonly id: number;
  readonly x: number;
  readonly layer: "room" | "whole" | "picture";
}

/** What fingers want of the picture. */
export interface SpectrumHand {
  /** The pointer rests or passes here. */
  point(x: number): void;
  /** Moves the view so that what was under one place comes under another. */
  drag(fromX: number, toX: number): void;
  /** Two fingers: what was under the first pair comes under the second. */
  pinch(before: readonly [number, number], after: readonly [number, number]): void;
  /** Looks at the part of the whole around a place of the small picture. */
  look(x: number): void;
  paint(fromX: number, toX: number): void;
  painted(): void;
  /** What was being painted isn't wanted. */
  dropped(): void;
  /** Whether anything may be kept out. */
  readonly mayPaint: boolean;
}

/** What two or one fingers, or a mouse, do on the picture: point, move, zoom, look elsewhere, paint. */
export class SpectrumPointer {
  private readonly down = new Map<number, Touch>();
  private begunX = 0;

  constructor(private readonly hand: SpectrumHand) {}

  get panning(): boolean {
    return this.down.size > 0;
  }

  press(touch: Touch): void {
    this.down.set(touch.id, touch);
    this.begunX = touch.x;
    if (touch.layer === "whole") this.hand.look(touch.x);
    else this.hand.point(touch.x);
  }

  move(touch: Touch): void {
    const before = this.down.get(touch.id);
    if (before === undefined) {
      this.hand.point(touch.x);
      return;
    }
    const after = { ...touch, layer: before.layer };
    const other = [...this.down.values()].find((one) => one.id !== touch.id);
    if (other !== undefined) this.hand.pinch([before.x, other.x], [after.x, other.x]);
    else this.moveOne(before, after);
    this.down.set(touch.id, after);
  }

  release(id: number): void {
    const touch = this.down.get(id);
    this.down.delete(id);
    if (touch?.layer === "room" && this.hand.mayPaint) this.hand.painted();
  }

  /** The finger was taken away by the page, which scrolls: nothing was meant. */
  drop(id: number): void {
    this.down.delete(id);
    this.hand.dropped();
  }

  private moveOne(before: Touch, after: Touch): void {
    if (before.layer === "whole") this.hand.look(after.x);
    else if (before.layer === "room" && this.hand.mayPaint) this.hand.paint(this.begunX, after.x);
    else this.hand.drag(before.x, after.x);
  }
}
