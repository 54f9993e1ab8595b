import { css } from "lit";

export const controlStyles = css`
  :host { display: block; min-width: 0; }
  .control { display: grid; grid-template-columns: 8.6em minmax(0, 1fr); gap: 3px 10px; align-items: center; padding: 4px 0; }
  .label { color: var(--text-soft); }
  .editor { display: flex; flex-wrap: wrap; align-items: center; gap: 6px; min-width: 0; }
  button { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); min-height: 34px; padding: 0 10px; cursor: pointer; }
  button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  .note { grid-column: 1 / -1; display: flex; flex-wrap: wrap; align-items: center; gap: 4px 10px; color: var(--text-soft); }
  .requested .note, .unknown .note, .refused .note, .caution { color: var(--text); }
  .caution { border-left: 3px solid var(--text); padding-left: 9px; }
  .note strong { font-weight: 650; padding: 0 8px; border: 1px solid currentColor; }
  .requested .note strong { border-style: dashed; }
  .unknown .note strong { border: 3px double currentColor; }
  .refused .note strong { background: var(--text); color: var(--ground); }
  .note button { min-height: 28px; }
  .problem { color: var(--text); font-weight: 600; }
  @media (max-width: 760px), (pointer: coarse) {
    .control { grid-template-columns: minmax(0, 1fr); }
    button, .note button { min-height: 44px; }
  }
`;
