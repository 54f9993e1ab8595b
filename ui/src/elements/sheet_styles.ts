import { css } from "lit";

export const sheetStyles = css`
  :host { display: block; min-height: 0; }
  .sheet { display: grid; grid-template-rows: auto minmax(0, 1fr); height: 100%; background: var(--raised); border-top: 1px solid var(--edge); }
  header { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 18px; padding: 10px 20px; border-bottom: 1px solid var(--rule); }
  h1 { margin: 0; font-size: 24px; font-weight: 680; line-height: 1.15; overflow-wrap: anywhere; }
  .what { color: var(--text-soft); }
  .badge { border: 1px dashed var(--text); padding: 1px 9px; }
  .badge.plain { border-style: dotted; }
  .contact.lost { font-weight: 650; border: 2px solid var(--text); padding: 1px 9px; }
  .end { display: flex; gap: 8px; margin-left: auto; }
  button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 3px 14px; min-height: 34px; cursor: pointer; }
  button[aria-pressed="true"] { border-color: var(--text); font-weight: 650; }
  button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  .body { display: grid; grid-template-columns: minmax(190px, 270px) minmax(0, 1fr); min-height: 0; }
  nav { overflow-y: auto; border-right: 1px solid var(--rule); padding: 10px 0; scrollbar-width: thin; scrollbar-color: var(--edge) var(--raised); }
  ul { margin: 0; padding: 0; list-style: none; }
  nav button { display: block; width: 100%; min-height: 32px; padding: 4px 16px; border: 0; text-align: left; color: var(--text-soft); overflow-wrap: anywhere; }
  .depth1 button { padding-left: 28px; }
  .depth2 button { padding-left: 46px; }
  nav button[aria-current] { color: var(--text); font-weight: 650; background: var(--select); box-shadow: inset 4px 0 0 var(--text); }
  nav button:focus-visible { outline-offset: -2px; }
  .part { overflow-y: auto; padding: 16px 28px 28px; scrollbar-width: thin; scrollbar-color: var(--edge) var(--raised); }
  redpoll-lease, redpoll-guard { margin-bottom: 16px; }
  @media (max-width: 760px) {
    .sheet { display: block; overflow-y: auto; }
    header { padding: 8px 12px; gap: 4px 12px; }
    h1 { font-size: 20px; width: 100%; }
    .body { display: block; }
    nav { overflow-x: auto; border-right: 0; border-bottom: 1px solid var(--rule); padding: 0; }
    nav ul { display: flex; }
    nav button, .depth1 button, .depth2 button { width: auto; min-height: 44px; padding: 4px 14px; white-space: nowrap; }
    nav button[aria-current] { box-shadow: inset 0 -4px 0 var(--text); }
    .part { overflow: visible; padding: 12px; }
    button { min-height: 44px; }
  }
`;
