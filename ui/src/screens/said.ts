import type { ReactiveController, ReactiveControllerHost } from "lit";

const SAID_MS = 5000;

/** What the screen just did, or why it could not; said for five seconds. */
export class Said implements ReactiveController {
  text = "";
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly host: ReactiveControllerHost) {
    host.addController(this);
  }

  hostDisconnected(): void {
    clearTimeout(this.timer);
  }

  say(text: string): void {
    clearTimeout(this.timer);
    this.put(text);
    this.timer = setTimeout(() => this.put(""), SAID_MS);
  }

  private put(text: string): void {
    this.text = text;
    this.host.requestUpdate();
  }
}
