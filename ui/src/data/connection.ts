import type { LiveMessage } from "../protocol/live";
import { askSession, openSession } from "./session";
import type { Store } from "./store";

const RATE_HZ = 10;
const FIRST_RETRY_MS = 500;
const LONGEST_RETRY_MS = 8000;
/** The console sends frames ten times a second; when nothing came for so long the link is taken for dead. */
const SILENCE_MS = 4000;

/** Keeps the live feed open by itself, with growing, jittered pauses; nobody ever has to reload. */
export class Connection {
  private socket: WebSocket | null = null;
  private failures = 0;
  private retryTimer: ReturnType<typeof setTimeout> | undefined;
  private silenceTimer: ReturnType<typeof setTimeout> | undefined;
  private stopped = false;
  private asking = false;

  constructor(private readonly store: Store) {}

  /** Takes the launch link if there is one, then opens the feed. */
  async start(): Promise<void> {
    const answer = await openSession();
    if (answer.kind === "open") this.open();
    else if (answer.kind === "none") this.store.setLink({ state: "no session", reason: answer.reason });
    else this.retryLater("the console doesn't answer");
  }

  /** Tries at once, when somebody doesn't want to wait. */
  retryNow(): void {
    clearTimeout(this.retryTimer);
    void this.reopen();
  }

  stop(): void {
    this.stopped = true;
    clearTimeout(this.retryTimer);
    clearTimeout(this.silenceTimer);
    this.socket?.close();
  }

  private open(): void {
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(`${scheme}//${location.host}/api/v1/live`);
    socket.binaryType = "arraybuffer";
    this.socket = socket;
    let goodbye = "";
    socket.onopen = () => socket.send(JSON.stringify(this.subscription()));
    socket.onmessage = (event: MessageEvent<string | ArrayBuffer>) => {
      if (this.socket !== socket) return;
      this.watchSilence(socket);
      const message = this.takeOrDrop(socket, event.data);
      if (message?.type === "bye") goodbye = message.reason;
    };
    socket.onclose = () => {
      if (this.socket === socket) this.lost(goodbye);
    };
    this.watchSilence(socket);
  }

  private subscription(): object {
    const since = this.store.picture?.sequence ?? null;
    return { type: "subscribe", rate_hz: RATE_HZ, since, form: "binary" };
  }

  /** What can't be read ends the link, which then starts anew with a fresh picture. */
  private takeOrDrop(socket: WebSocket, data: string | ArrayBuffer): LiveMessage | null {
    try {
      return this.take(data);
    } catch (fault) {
      this.drop(socket, fault instanceof Error ? fault.message : "it could not be read");
      return null;
    }
  }

  /** Ends a link without waiting for its end: a dead one may never finish closing. */
  private drop(socket: WebSocket, reason: string): void {
    socket.onclose = null;
    socket.close();
    if (this.socket === socket) this.lost(reason);
  }

  private take(data: string | ArrayBuffer): LiveMessage | null {
    if (typeof data !== "string") {
      this.store.takeFrame(data, performance.now());
      return null;
    }
    const message = JSON.parse(data) as LiveMessage;
    if (message.type === "snapshot" && this.isNewer(message.version)) location.reload();
    this.store.takeMessage(message);
    if (message.type === "snapshot") {
      this.failures = 0;
      this.store.setLink({ state: "live" });
    }
    return message;
  }

  /** Whether the console was replaced by another version while this page stood open: then the page is too old for it. */
  private isNewer(version: string): boolean {
    const known = this.store.picture?.version ?? version;
    return known !== version;
  }

  private watchSilence(socket: WebSocket): void {
    clearTimeout(this.silenceTimer);
    this.silenceTimer = setTimeout(() => {
      this.drop(socket, "nothing has come from the console for a while");
    }, SILENCE_MS);
  }

  private lost(reason: string): void {
    clearTimeout(this.silenceTimer);
    this.socket = null;
    if (!this.stopped) this.retryLater(reason);
  }

  private retryLater(reason: string): void {
    const pause = Math.min(FIRST_RETRY_MS * 2 ** this.failures, LONGEST_RETRY_MS) * (0.5 + Math.random() / 2);
    this.failures += 1;
    this.store.setLink({ state: "lost", reason, retryAtMs: performance.now() + pause });
    this.retryTimer = setTimeout(() => void this.reopen(), pause);
  }

  private async reopen(): Promise<void> {
    if (this.stopped || this.asking || this.socket !== null) return;
    this.asking = true;
    const answer = await askSession();
    this.asking = false;
    if (answer.kind === "open") this.open();
    else if (answer.kind === "none") this.store.setLink({ state: "no session", reason: answer.reason });
    else this.retryLater("the console doesn't answer");
  }
}
