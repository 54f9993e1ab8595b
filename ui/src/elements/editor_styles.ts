import { css } from "lit";

export const editorStyles = css`
  :host { display: inline-flex; flex-wrap: wrap; align-items: center; gap: 6px; min-width: 0; }
  button, input, select { font: inherit; font-variant-numeric: tabular-nums; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); min-height: 34px; }
  button { padding: 0 10px; cursor: pointer; }
  button:disabled, input:disabled, select:disabled { color: var(--text-soft); border-style: dotted; cursor: default; }
  :is(button, input, select):focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  input { width: 5.6em; padding: 0 8px; text-align: right; }
  input.wide { width: 7.4em; }
  input.text { width: 11em; text-align: left; }
  .stepper { display: inline-flex; align-items: center; }
  .stepper button { width: 34px; padding: 0; font-size: 19px; }
  .stepper input { border-left: 0; border-right: 0; }
  .unit { color: var(--text-soft); }
  .choices { display: inline-flex; flex-wrap: wrap; row-gap: 2px; }
  .choices button { margin-right: -1px; min-width: 3em; }
  .choices button[aria-pressed="true"] { background: var(--text); color: var(--ground); border-color: var(--text); font-weight: 650; }
  .choices button[aria-pressed="true"]:disabled { background: var(--edge); }
  .switch { display: inline-flex; align-items: center; gap: 10px; padding: 0 12px 0 8px; }
  .switch .rail { position: relative; width: 34px; height: 16px; border: 2px solid var(--edge); border-radius: 8px; }
  .switch .knob { position: absolute; top: 1px; left: 1px; width: 10px; height: 10px; border-radius: 50%; background: var(--edge); }
  .switch[aria-checked="true"] .rail { border-color: var(--text); background: var(--text); }
  .switch[aria-checked="true"] .knob { transform: translateX(18px); background: var(--ground); }
  .switch.unreported .knob { display: none; }
  .asked { outline: 2px dashed var(--text); outline-offset: 1px; }
  @media (max-width: 760px), (pointer: coarse) {
    button, input, select { min-height: 44px; }
    .stepper button { width: 44px; }
  }
`;
