import { css } from "lit";

/** Fields and buttons of a form that stands in a column. */
export const formStyles = css`
  form, .form { display: grid; gap: 8px; }
  label { display: grid; gap: 2px; color: var(--text-soft); min-width: 0; }
  .two { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: 8px; }
  .three { display: grid; grid-template-columns: minmax(0, 1.6fr) minmax(0, 1fr) minmax(0, 0.7fr); gap: 8px; }
  input, select, button { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); padding: 4px 10px; min-height: 38px; min-width: 0; box-sizing: border-box; }
  button { background: none; cursor: pointer; }
  button:disabled { color: var(--text-soft); border-style: dotted; cursor: default; }
  :is(input, select, button):focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
  ::file-selector-button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); padding: 2px 12px; margin-right: 10px; cursor: pointer; }
  p { margin: 0; }
  .soft { color: var(--text-soft); }
  .advice { border-left: 3px solid var(--text); padding-left: 9px; }
  .problem { font-weight: 600; overflow-wrap: anywhere; }
  .problem:empty { display: none; }
  progress { appearance: none; width: 100%; height: 12px; border: 1px solid var(--edge); background: var(--sunken); }
  progress::-webkit-progress-bar { background: var(--sunken); }
  progress::-webkit-progress-value { background: var(--mark); }
  progress::-moz-progress-bar { background: var(--mark); }
  @media (max-width: 760px), (pointer: coarse) { input, select, button { min-height: 44px; } }
`;
