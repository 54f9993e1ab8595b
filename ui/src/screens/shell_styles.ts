import { css } from "lit";

export const shellStyles = css`
  :host { display: grid; grid-template-rows: auto minmax(0, 1fr) 32px; grid-template-columns: minmax(0, 1fr); height: 100vh; height: 100dvh; }
  :host > redpoll-gate, .opening { grid-row: 1 / -1; }
  .opening { display: grid; place-content: center; color: var(--text-soft); }
  main { display: grid; grid-template-rows: auto [watch] minmax(0, 1fr) [ahead] auto; min-height: 0; }
  redpoll-heed, redpoll-scout, redpoll-chart, redpoll-thing { grid-row: watch; grid-column: 1; min-width: 0; }
  :is(redpoll-heed, redpoll-scout, redpoll-chart)[inert] { visibility: hidden; }
  redpoll-thing { z-index: 6; margin-top: 6px; }
  redpoll-strip { height: 88px; margin: 8px 14px 2px; }
  .news { position: absolute; width: 1px; height: 1px; margin: 0; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
  .lost { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 16px; margin: 8px 14px 0; padding: 6px 14px; border: 2px solid var(--text); background: var(--raised); }
  .lost button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 4px 14px; min-height: 32px; cursor: pointer; margin-left: auto; }
  .lost button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  main:has(.lost) { grid-template-rows: auto auto [watch] minmax(0, 1fr) [ahead] auto; }
  redpoll-ahead { grid-row: ahead; grid-column: 1; }
  @media (max-width: 1500px) {
    :host { grid-template-rows: auto minmax(0, 1fr) 28px; }
    redpoll-strip { height: 78px; margin: 6px 10px 0; }
  }
  @media (max-width: 760px) {
    :host { grid-template-rows: auto minmax(0, 1fr) auto; }
    redpoll-strip { height: auto; margin: 4px 6px; }
    .lost button { min-height: 44px; }
  }
`;
