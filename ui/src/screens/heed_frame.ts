import type { Store } from "../data/store";
import type { RedpollRow } from "../elements/row";
import { StrandField } from "../plots/field";
import { readInk } from "../plots/strand_ink";

const METERS_MS = 66;
const WORDS_MS = 250;

/** Where a row stands in the scrolled content, in CSS pixels. */
interface Placed {
  readonly element: RedpollRow;
  readonly top: number;
  readonly height: number;
}

/** Draws what moves: strands at display rate, meters fifteen times and words four times a second. */
export class HeedFrame {
  private readonly field: StrandField;
  private placed: readonly Placed[] = [];
  private request = 0;
  private metersMs = Number.NEGATIVE_INFINITY;
  private wordsMs = Number.NEGATIVE_INFINITY;

  constructor(
    private readonly store: Store,
    private readonly scroller: HTMLElement,
    private readonly canvas: HTMLCanvasElement,
    private readonly afterWords: (now: number) => void,
  ) {
    this.field = new StrandField(canvas, readInk(canvas));
    const step = (frameMs: number) => {
      this.draw(frameMs);
      this.request = requestAnimationFrame(step);
    };
    this.request = requestAnimationFrame(step);
  }

  stop(): void {
    cancelAnimationFrame(this.request);
  }

  /** Takes the colours anew. */
  recolour(): void {
    this.field.recolour(readInk(this.canvas));
  }

  /** Measures where rows and strands stand; to be called when anything was moved, folded or resized. */
  measure(rows: readonly RedpollRow[]): void {
    const origin = this.scroller.getBoundingClientRect();
    const strand = rows[0]?.strandBox() ?? new DOMRect();
    this.placed = rows.map((element) => {
      const box = element.getBoundingClientRect();
      return { element, top: box.top - origin.top + this.scroller.scrollTop, height: box.height };
    });
    this.canvas.style.left = `${strand.left - origin.left}px`;
    this.canvas.hidden = strand.width < 1;
    this.field.resize(strand.width, origin.height, devicePixelRatio);
    this.scrolled();
  }

  /** Places the strands after the rows were scrolled. */
  scrolled(): void {
    const visible = this.visible();
    this.field.place(
      visible.flatMap(({ element, top, height }) => {
        if (element.facts === null) return [];
        const bins = this.store.strands.of(element.facts.channel);
        return [{ bins, top: top - this.scroller.scrollTop + 1, height: height - 2 }];
      }),
    );
    this.wordsMs = Number.NEGATIVE_INFINITY;
  }

  private visible(): readonly Placed[] {
    const { scrollTop, clientHeight } = this.scroller;
    return this.placed.filter(({ top, height }) => top + height > scrollTop && top < scrollTop + clientHeight);
  }

  private draw(frameMs: number): void {
    if (!this.store.clock.begun) return;
    const now = this.store.clock.seconds(performance.now());
    if (!this.canvas.hidden) this.field.draw(now, frameMs);
    if (frameMs - this.metersMs < METERS_MS) return;
    this.metersMs = frameMs;
    const wordsDue = frameMs - this.wordsMs >= WORDS_MS;
    for (const { element } of this.visible()) this.show(element, now, wordsDue);
    if (!wordsDue) return;
    this.wordsMs = frameMs;
    this.afterWords(now);
  }

  private show(element: RedpollRow, now: number, wordsDue: boolean): void {
    if (element.facts === null) return;
    const live = this.store.live(element.facts, now);
    element.showMeters(live, now);
    if (wordsDue) element.showWords(live);
  }
}
