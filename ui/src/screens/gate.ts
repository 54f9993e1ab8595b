import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { logIn } from "../data/session";
import { words } from "../words/english";
import { peopleWords } from "../words/people_words";

/** What is shown to somebody without a session: where to log in, and how to come by a link. Event: `redpoll-entered`. */
@customElement("redpoll-gate")
export class RedpollGate extends LitElement {
  static override styles = css`
    :host { display: grid; place-content: center; height: 100%; padding: 24px; overflow: auto; }
    main { max-width: 34em; }
    .name { color: var(--text-soft); font-weight: 600; }
    h1 { margin: 4px 0 20px; font-size: 26px; }
    form { display: grid; gap: 6px; max-width: 22em; }
    label { margin-top: 8px; }
    input { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); padding: 8px 10px; min-height: 44px; box-sizing: border-box; }
    button { font: inherit; font-weight: 600; color: var(--ground); background: var(--text); border: 1px solid var(--text); padding: 8px 20px; min-height: 44px; margin-top: 16px; cursor: pointer; }
    input:focus-visible, button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
    .said { min-height: 3em; margin: 16px 0 0; }
    .link { color: var(--text-soft); line-height: 1.5; }
  `;

  @property() reason = "";
  @state() private said = "";
  @state() private trying = false;
  @query("#name") private readonly nameField?: HTMLInputElement;
  @query("#password") private readonly passwordField?: HTMLInputElement;

  override render() {
    const said = this.said || (this.reason === "" ? "" : words.gate.said(this.reason));
    return html`<main>
      <span class="name">${words.product}</span>
      <h1>${peopleWords.gate.title}</h1>
      <form @submit=${this.onSubmit}>
        <label for="name">${peopleWords.gate.name}</label>
        <input id="name" name="username" autocomplete="username" maxlength="64" required autofocus />
        <label for="password">${peopleWords.gate.password}</label>
        <input id="password" name="password" type="password" autocomplete="current-password" maxlength="256" required />
        <button ?disabled=${this.trying}>${this.trying ? peopleWords.gate.trying : peopleWords.gate.enter}</button>
      </form>
      <p class="said" role="alert">${said === "" ? nothing : said}</p>
      <p class="link">${peopleWords.gate.orLink}</p>
    </main>`;
  }

  private async onSubmit(event: SubmitEvent): Promise<void> {
    event.preventDefault();
    this.trying = true;
    this.said = "";
    const answer = await logIn(this.nameField?.value ?? "", this.passwordField?.value ?? "");
    this.trying = false;
    if (answer.kind === "open") {
      this.dispatchEvent(new CustomEvent("redpoll-entered", { bubbles: true, composed: true }));
      return;
    }
    this.said = answer.kind === "none" ? answer.reason : peopleWords.gate.unreachable;
    if (this.passwordField === undefined) return;
    this.passwordField.value = "";
    await this.updateComplete;
    this.passwordField.focus();
  }
}
