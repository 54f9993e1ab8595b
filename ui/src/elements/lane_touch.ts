/** What fingers and pointers do to a picture: drag to move, two to zoom, a tap to pick. */
export interface TouchActs {
  /** Moves the view by a share of its width, to higher frequencies where positive. */
  readonly move: (share: number) => void;
  /** Makes the view `factor` times as wide about a share of it. */
  readonly zoom: (factor: number, share: number) => void;
  /** Presses a place, in pixels of the window. */
  readonly press: (x: number, y: number) => void;
}

const STILL_PX = 5;

interface Finger {
  readonly x: number;
  readonly y: number;
}

/** Follows the pointers that are down on one element. */
export class LaneTouch {
  private readonly fingers = new Map<number, Finger>();
  private travelled = 0;

  constructor(private readonly acts: TouchActs) {}

  readonly down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    if (this.fingers.size === 0) this.travelled = 0;
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
  };

  readonly moved = (event: PointerEvent): void => {
    const before = this.fingers.get(event.pointerId);
    if (before === undefined) return;
    const now = { x: event.clientX, y: event.clientY };
    const box = (event.currentTarget as HTMLElement).getBoundingClientRect();
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1];
    this.fingers.set(event.pointerId, now);
    this.travelled += Math.abs(now.x - before.x) + Math.abs(now.y - before.y);
    if (this.travelled < STILL_PX) return;
    if (other === undefined) this.acts.move((before.x - now.x) / box.width);
    else this.pinch(before, now, other, box);
  };

  readonly up = (event: PointerEvent): void => {
    const known = this.fingers.delete(event.pointerId);
    if (known && this.fingers.size === 0 && this.travelled < STILL_PX) this.acts.press(event.clientX, event.clientY);
  };

  readonly cancel = (event: PointerEvent): void => {
    this.fingers.delete(event.pointerId);
  };

  private pinch(before: Finger, now: Finger, other: Finger, box: DOMRect): void {
    const [wide, wider] = [Math.abs(before.x - other.x), Math.abs(now.x - other.x)];
    if (Math.min(wide, wider) < STILL_PX) return;
    this.acts.zoom(wide / wider, (other.x - box.left) / box.width);
  }
}
