import { css, html, LitElement, nothing } from "lit";
import { customElement, property, query, state } from "lit/decorators.js";
import { end, ownSessions, ownTokens } from "../data/people";
import type { OpenSession, TokenFacts } from "../protocol/model";
import { peopleWords } from "../words/people_words";

/** Where one is in and one's tokens, with an end to each, and the way out. Event: `redpoll-left`. */
@customElement("redpoll-account")
export class RedpollAccount extends LitElement {
  static override styles = css`
    :host { position: absolute; }
    dialog { border: 1px solid var(--edge); background: var(--raised); color: var(--text); padding: 24px 32px; width: min(42em, 92vw); box-sizing: border-box; font: inherit; }
    dialog::backdrop { background: rgb(0 0 0 / 55%); }
    h2 { margin: 0 0 12px; font-size: 19px; }
    h3 { margin: 18px 0 6px; font-size: 16px; }
    ul { list-style: none; margin: 0; padding: 0; }
    li { display: flex; flex-wrap: wrap; gap: 4px 16px; align-items: center; border-top: 1px solid var(--rule); padding: 4px 0; }
    li span:first-child { flex: 1; }
    .soft { color: var(--text-soft); }
    .ways { display: flex; gap: 12px; margin-top: 20px; }
    button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 6px 16px; min-height: 44px; cursor: pointer; }
    button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  `;

  @property() person = "";
  @property() standing = "";
  @state() private sessions: readonly OpenSession[] = [];
  @state() private tokens: readonly TokenFacts[] = [];
  @state() private failed = false;
  @query("dialog") private readonly dialog?: HTMLDialogElement;

  get shown(): boolean {
    return this.dialog?.open ?? false;
  }

  show(): void {
    this.dialog?.showModal();
    void this.read();
  }

  override render() {
    return html`<dialog aria-labelledby="title">
      <h2 id="title">${peopleWords.account}: ${this.person}</h2>
      <p class="soft">${this.standing}</p>
      <h3>${peopleWords.sessions}</h3>
      <ul>${this.sessions.map((one) => this.renderSession(one))}</ul>
      <h3>${peopleWords.tokens}</h3>
      ${this.tokens.length === 0 ? html`<p class="soft">${peopleWords.noTokens}</p>` : nothing}
      <ul>${this.tokens.map((one) => this.renderToken(one))}</ul>
      <p role="status">${this.failed ? peopleWords.failed : ""}</p>
      <div class="ways">
        <button @click=${() => void this.leave()}>${peopleWords.leave}</button>
        <button @click=${() => this.dialog?.close()}>${peopleWords.close}</button>
      </div>
    </dialog>`;
  }

  private renderSession({ session, own }: OpenSession) {
    const path = `sessions/${session.session_id}`;
    return html`<li><span>${session.way}, ${peopleWords.since(when(session.opened_utc_us))}</span>
      ${own ? html`<span class="soft">${peopleWords.thisOne}</span>` : this.renderEnd(path, peopleWords.end)}</li>`;
  }

  private renderToken(token: TokenFacts) {
    const used = token.last_used_utc_us;
    const usedWords = used === null ? peopleWords.neverUsed : peopleWords.lastUsed(when(used));
    return html`<li><span>${token.name}, ${token.roles.join(", ")}</span>
      <span class="soft">${peopleWords.until(when(token.expires_utc_us))}, ${usedWords}</span>
      ${this.renderEnd(`tokens/${token.token_id}`, peopleWords.revoke)}</li>`;
  }

  private renderEnd(path: string, label: string) {
    return html`<button @click=${() => void this.end(path)}>${label}</button>`;
  }

  private async read(): Promise<void> {
    const [sessions, tokens] = await Promise.all([ownSessions(), ownTokens()]);
    this.failed = !sessions.ok || !tokens.ok;
    if (sessions.ok) this.sessions = sessions.value.items;
    if (tokens.ok) this.tokens = tokens.value.items;
  }

  private async end(path: string): Promise<void> {
    const answer = await end(path);
    await this.read();
    this.failed = this.failed || !answer.ok;
  }

  private async leave(): Promise<void> {
    const answer = await end("session");
    this.failed = !answer.ok;
    if (!answer.ok) return;
    this.dialog?.close();
    this.dispatchEvent(new CustomEvent("redpoll-left", { bubbles: true, composed: true }));
  }
}

function when(utcUs: number): string {
  return new Date(utcUs / 1000).toISOString().slice(0, 16).replace("T", " ");
}
