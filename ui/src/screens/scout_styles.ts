import { css } from "lit";

export const scoutStyles = css`
  :host { grid-row: watch; grid-column: 1; display: grid; grid-template-rows: auto minmax(300px, 1.8fr) minmax(170px, 1fr) auto; min-height: 0; min-width: 0; padding-top: 8px; }
  :host([forming]) { grid-template-rows: auto minmax(200px, 1fr) minmax(240px, 1.15fr) auto; }
  .title { display: flex; flex-wrap: wrap; align-items: baseline; gap: 2px 14px; padding: 0 14px 6px; }
  h2 { margin: 0; font-size: 20px; font-weight: 680; }
  h3 { margin: 0; font-size: 16px; font-weight: 680; }
  .age { font-size: 20px; font-weight: 600; }
  .soft { color: var(--text-soft); }
  .simulated { border: 1px dashed var(--text); padding: 0 8px; }
  .room { font-weight: 600; }
  .source { margin-top: 10px !important; }
  .room .soft { font-weight: 400; }
  .asks { flex-basis: 100%; border-left: 3px solid var(--text); padding-left: 9px; margin: 2px 0 0; }
  .columns { display: grid; grid-template-columns: minmax(280px, 1fr) minmax(320px, 1.6fr) minmax(320px, 1fr); min-height: 0; border-top: 1px solid var(--rule); }
  section { display: grid; grid-template-rows: auto minmax(0, 1fr); min-height: 0; min-width: 0; }
  section + section { border-left: 1px solid var(--rule); }
  .head { display: flex; flex-wrap: wrap; align-items: center; gap: 6px 10px; padding: 6px 14px; min-height: 44px; }
  .head > :first-child { margin-right: auto; }
  .body { overflow: auto; padding: 0 14px 14px; }
  .scans .body { padding: 0 0 14px; }
  .body > p { margin: 0 0 8px; }
  .scans .body > p { padding: 4px 14px; }
  .problem { font-weight: 600; }
  button, select { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 2px 12px; min-height: 32px; cursor: pointer; }
  select { background: var(--sunken); }
  button[aria-expanded="true"] { background: var(--text); color: var(--ground); }
  :is(button, select, .body):focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
  redpoll-findings { --finding-columns: 2; }
  footer { padding: 5px 14px; border-top: 1px solid var(--rule); color: var(--text-soft); line-height: 1.25; }
  .empty { display: grid; place-content: center; gap: 6px; max-width: 62ch; margin: 0 auto; padding: 24px; text-align: center; }
  .drop { position: absolute; inset: 0; z-index: 4; display: grid; place-content: center; background: var(--raised); border: 3px dashed var(--text); font-size: 20px; pointer-events: none; }
  @media (max-width: 1500px) {
    redpoll-findings { --finding-columns: 1; }
    footer { font-size: 15px; }
  }
  @media (max-width: 760px) {
    :host { display: block; overflow-y: auto; }
    .title { padding: 0 10px 6px; }
    redpoll-spectrum { height: 430px; }
    .columns { display: block; }
    section { display: block; border-top: 1px solid var(--rule); }
    section + section { border-left: 0; }
    .body { overflow: visible; }
    button, select { min-height: 44px; }
  }
`;
