import type { LiveMessage } from "../protocol/live";
import { readFrame } from "../pure/frames";
import type { LiveRow, RowFacts } from "../pure/row";
import { liveRow } from "./live_row";
import { afterMessage, type Picture, pictureOf } from "./picture";
import { rowsChanged, rowsOf } from "./rows";
import { ServerClock } from "./server_clock";
import { Strands } from "./strands";
import { LiveTables } from "./tables";

/** The link to the console, as a person would say it. */
export type Link =
  | { readonly state: "opening" }
  | { readonly state: "live" }
  | { readonly state: "lost"; readonly reason: string; readonly retryAtMs: number | null }
  | { readonly state: "no session"; readonly reason: string };

/** Everything shown, and those who want to hear of changes. Driven by messages alone, wherever they come from. */
export class Store {
  readonly tables = new LiveTables();
  readonly strands = new Strands();
  readonly clock = new ServerClock();
  picture: Picture | null = null;
  rows: readonly RowFacts[] = [];
  link: Link = { state: "opening" };
  /** The time of the last frame in seconds; −∞ before the first. */
  frameAt = Number.NEGATIVE_INFINITY;
  private clockIsNew = true;
  private readonly listeners = new Set<() => void>();

  /** Calls back after each change of picture or link; frames are only looked at when the screen is drawn. */
  subscribe(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Takes a text message. */
  takeMessage(message: LiveMessage): void {
    if (message.type === "snapshot") {
      const epochChanged = this.picture !== null && this.picture.epoch !== message.snapshot.epoch;
      if (epochChanged) this.tables.clear();
      this.tables.shape(message.snapshot.tables);
      this.setPicture(pictureOf(message, this.picture));
      this.clockIsNew = true;
      return;
    }
    if (message.type === "tables") this.tables.shape(message.tables);
    if (this.picture !== null) this.setPicture(afterMessage(this.picture, message));
  }

  /** Takes a binary message that arrived at `localMs`. */
  takeFrame(buffer: ArrayBuffer, localMs: number): void {
    const frame = readFrame(buffer);
    if (this.clockIsNew) this.clock.begin(frame.utcUs, frame.monotonicUs, localMs);
    else this.clock.take(frame.monotonicUs, localMs);
    this.clockIsNew = false;
    const at = this.clock.secondsOf(frame.monotonicUs);
    if (frame.kind === "recent") {
      this.strands.fill(this.tables.rows("channel"), frame, at);
      return;
    }
    this.tables.take(frame, at);
    this.frameAt = Math.max(this.frameAt, at);
    if (frame.table === "channel") this.strands.feed(this.rows, this.tables, at);
  }

  /** A row as it stands at `now` seconds. */
  live(row: RowFacts, now: number): LiveRow {
    const contact = this.picture?.devices.get(row.deviceId)?.contact ?? null;
    return liveRow(row, { contact, tables: this.tables, deafBits: this.strands.deafBits(row.channel) }, now);
  }

  setLink(link: Link): void {
    this.link = link;
    this.tell();
  }

  private setPicture(picture: Picture): void {
    if (picture === this.picture) return;
    const before = this.picture;
    this.picture = picture;
    if (before === null || rowsChanged(before, picture)) this.rows = rowsOf(picture);
    this.tell();
  }

  private tell(): void {
    for (const listener of this.listeners) listener();
  }
}
