import { html, LitElement } from "lit";
import { customElement } from "lit/decorators.js";

/** Stands where the shell of the screen will stand. */
@customElement("redpoll-shell")
export class RedpollShell extends LitElement {
  override render() {
    return html`<main><h1>Redpoll</h1></main>`;
  }
}
