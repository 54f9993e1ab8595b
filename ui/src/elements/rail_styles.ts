import { css } from "lit";

/** What the parts of a stage's rail share: quiet tables, fields and buttons. */
export const railStyles = css`
  * { box-sizing: border-box; }
  :host { display: block; box-sizing: border-box; min-width: 0; }
  h2 { margin: 18px 0 6px; font-size: 15px; font-weight: 650; }
  h2:first-child { margin-top: 4px; }
  p { margin: 0 0 8px; }
  .soft { color: var(--text-soft); }
  button, input, select { font: inherit; font-variant-numeric: tabular-nums; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); min-height: 34px; min-width: 0; }
  button { padding: 0 12px; cursor: pointer; background: none; }
  button:disabled, input:disabled, select:disabled { color: var(--text-soft); border-style: dotted; cursor: default; }
  button[aria-pressed="true"] { background: var(--text); color: var(--ground); border-color: var(--text); font-weight: 650; }
  input { padding: 0 8px; }
  input.number { text-align: right; }
  :is(button, input, select, a, summary):focus-visible { outline: 2px solid var(--focus); outline-offset: 1px; }
  .acts { display: flex; flex-wrap: wrap; gap: 8px; margin: 8px 0; }
  ul { list-style: none; margin: 0; padding: 0; }
  .problem { margin: 8px 0; padding: 6px 12px; border: 2px solid var(--text); background: var(--raised); }
  @media (max-width: 760px), (pointer: coarse) { button, input, select { min-height: 44px; min-width: 44px; } }
`;
