import { html, type TemplateResult } from "lit";
import type { Store } from "../data/store";
import { clockWords } from "../pure/number_words";
import { words } from "../words/english";

/** The bar that says that the link to the console is lost, or null while it isn't. */
export function renderLostLink(store: Store, retryS: number, retry: () => void): TemplateResult | null {
  const link = store.link;
  if (link.state !== "lost") return null;
  const showing = Number.isFinite(store.frameAt)
    ? words.link.showing(clockWords(store.clock.utcUs(store.frameAt)))
    : "";
  return html`<div class="lost" role="alert"><strong>${words.link.lost}</strong>
    <span>${link.reason === "" ? "" : words.link.because(link.reason)}</span> <span>${showing}</span>
    <span class="again">${words.link.again(retryS)}</span>
    <button @click=${retry}>${words.link.retry}</button></div>`;
}

/** How many seconds until the link is tried again; 0 where that isn't known. */
export function secondsToRetry(store: Store, nowMs: number): number {
  const { link } = store;
  if (link.state !== "lost" || link.retryAtMs === null) return 0;
  return Math.max(Math.ceil((link.retryAtMs - nowMs) / 1000), 0);
}
