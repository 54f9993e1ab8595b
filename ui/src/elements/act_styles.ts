import { css } from "lit";

export const actStyles = css`
  :host { display: block; min-width: 0; }
  section { padding: 8px 0 10px; border-bottom: 1px solid var(--rule); }
  h3 { margin: 0 0 4px; font-size: 15px; font-weight: 650; }
  p { margin: 2px 0; }
  .arguments { display: grid; grid-template-columns: minmax(5.5em, auto) minmax(0, 1fr); gap: 4px 12px; align-items: center; margin-bottom: 6px; }
  .label, .soft { color: var(--text-soft); }
  .wide { grid-column: 1 / -1; }
  .do { display: flex; flex-wrap: wrap; align-items: center; gap: 6px 12px; }
  .caution { border-left: 3px solid var(--text); padding-left: 9px; margin: 4px 0 6px; }
  button { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); min-height: 34px; padding: 0 14px; cursor: pointer; }
  button:disabled { color: var(--text-soft); border-style: dotted; cursor: default; }
  button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  .note { display: flex; flex-wrap: wrap; align-items: center; gap: 4px 10px; margin-top: 6px; }
  .note strong { font-weight: 650; padding: 0 8px; border: 1px solid currentColor; }
  .running .note strong { border-style: dashed; }
  .unknown .note strong { border: 3px double currentColor; }
  .not-done .note strong { background: var(--text); color: var(--ground); }
  .problem { font-weight: 600; }
  progress { appearance: none; width: 140px; height: 10px; border: 1px solid var(--edge); background: var(--sunken); }
  progress::-webkit-progress-bar { background: var(--sunken); }
  progress::-webkit-progress-value { background: var(--mark); }
  progress::-moz-progress-bar { background: var(--mark); }
  redpoll-levels { margin-top: 8px; }
  @media (max-width: 760px), (pointer: coarse) { button { min-height: 44px; } }
`;
