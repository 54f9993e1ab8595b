import { css } from "lit";

export const spectrumStyles = css`
  :host { display: grid; grid-template-rows: auto minmax(0, 1fr); min-width: 0; min-height: 0; }
  .head { display: flex; align-items: center; gap: 6px 14px; padding: 0 14px 4px; min-width: 0; }
  output { flex: 1; min-height: 1.3em; min-width: 0; overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
  .rest { color: var(--text-soft); }
  .zoom { display: flex; }
  button { font: inherit; color: var(--text); background: none; border: 1px solid var(--edge); margin-left: -1px; padding: 0 14px; min-height: 32px; min-width: 44px; cursor: pointer; }
  button:disabled { color: var(--text-soft); border-style: dotted; cursor: default; }
  .plot { position: relative; min-height: 0; touch-action: pan-y; cursor: crosshair; overflow: hidden; }
  canvas { position: absolute; inset: 0; width: 100%; height: 100%; }
  :is(button, .plot):focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
  .plot.room { cursor: col-resize; }
  .plot.panning { cursor: grabbing; }
  @media (max-width: 760px), (pointer: coarse) {
    button { min-height: 44px; }
    .head { flex-wrap: wrap; padding: 0 8px 4px; }
    output { flex-basis: 100%; order: 1; white-space: normal; min-height: 2.6em; }
  }
`;
