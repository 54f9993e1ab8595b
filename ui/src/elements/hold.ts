import { css, html, LitElement } from "lit";
import { customElement, property, state } from "lit/decorators.js";

/** How long a dangerous act is held. */
export const HOLD_MS = 800;

/** A button that must be held, by pointer, Enter or space. Event: `redpoll-held`. Letting go early does nothing. */
@customElement("redpoll-hold")
export class RedpollHold extends LitElement {
  static override styles = css`
    button {
      position: relative;
      overflow: hidden;
      font: inherit;
      font-weight: 600;
      line-height: 1.25;
      color: var(--text);
      background: var(--sunken);
      border: 2px solid var(--text);
      padding: var(--hold-padding, 6px 14px);
      min-height: 44px;
      text-align: left;
      cursor: pointer;
      touch-action: none;
      user-select: none;
    }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
    button::after { content: ""; position: absolute; left: 0; right: 0; bottom: 0; height: 5px; background: var(--text); transform: scaleX(0); transform-origin: left; }
    button.held::after { transform: scaleX(1); transition: transform 800ms linear; }
  `;

  @property() label = "";
  @state() private held = false;
  private timer: ReturnType<typeof setTimeout> | undefined;

  override render() {
    return html`<button
      class=${this.held ? "held" : ""}
      @pointerdown=${this.begin}
      @pointerup=${this.release}
      @pointerleave=${this.release}
      @pointercancel=${this.release}
      @blur=${this.release}
      @contextmenu=${(event: Event) => event.preventDefault()}
      @keydown=${this.onKeyDown}
      @keyup=${this.release}
    >${this.label}</button>`;
  }

  override disconnectedCallback() {
    super.disconnectedCallback();
    this.release();
  }

  /** Begins to hold by a key elsewhere, which repeats itself while it is down. */
  press(): void {
    if (!this.held) this.begin();
  }

  /** That key was let go. */
  letGo(): void {
    this.release();
  }

  private onKeyDown(event: KeyboardEvent): void {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) this.begin();
  }

  private begin(): void {
    this.release();
    this.held = true;
    this.timer = setTimeout(() => {
      this.held = false;
      this.dispatchEvent(new CustomEvent("redpoll-held", { bubbles: true, composed: true }));
    }, HOLD_MS);
  }

  private release(): void {
    clearTimeout(this.timer);
    this.held = false;
  }
}
