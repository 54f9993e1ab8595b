import { css } from "lit";

/** A row's columns come from `--row-columns`, so that every row and the heading above share them. */
export const rowStyles = css`
  :host {
    display: grid;
    grid-template-columns: var(--row-columns);
    align-items: center;
    height: var(--row-height);
    position: relative;
    cursor: default;
    outline: none;
  }
  /* Live, next, idle: a full bar, a hollow one, none and a quieter name. */
  :host([cue="live"])::before, :host([cue="next"])::before { content: ""; position: absolute; left: 3px; top: 5px; bottom: 5px; width: 6px; box-sizing: border-box; border: 1.5px solid var(--mark); z-index: 2; }
  :host([cue="live"])::before { background: var(--mark); }
  :host([cue="idle"]) .part { font-weight: 450; }
  :host([selected]) { background: var(--select); }
  :host(:focus-visible)::after {
    content: "";
    position: absolute;
    inset: 0;
    z-index: 3;
    border: 2px solid var(--focus);
    pointer-events: none;
  }
  :host([tint="1"]) .tint { background: var(--tint-1); }
  :host([tint="2"]) .tint { background: var(--tint-2); }
  :host([tint="3"]) .tint { background: var(--tint-3); }
  .tint { grid-column: 1 / 9; grid-row: 1; align-self: stretch; z-index: 0; }
  [role="gridcell"], [role="rowheader"] { grid-row: 1; position: relative; min-width: 0; }
  .mark { grid-column: 1; justify-self: center; line-height: 0; }
  .number { grid-column: 2; text-align: right; color: var(--text-soft); font-size: var(--size-number, 16px); }
  .part {
    grid-column: 3;
    padding-left: 12px;
    font-size: var(--size-part);
    font-weight: 620;
    white-space: nowrap;
    overflow: hidden;
    text-overflow: ellipsis;
    line-height: 1.15;
  }
  :host([spare]) .part { color: var(--text-soft); font-weight: 450; }
  .branches { grid-column: 5; display: grid; gap: 2px; }
  .branch { height: var(--bar-height, 6px); background: var(--trough); }
  .branch i { display: block; height: 100%; background: var(--mark); transform-origin: left; }
  .branch.deaf, .branch.none { background: none; outline: 1px dashed var(--edge); outline-offset: -1px; }
  .level { grid-column: 6; text-align: right; }
  .peak { grid-column: 7; padding-left: 14px; }
  .scale { display: block; position: relative; height: 12px; }
  .scale::before { content: ""; position: absolute; inset: 5px 12% 5px 0; background: var(--trough); }
  .clip { position: absolute; inset: 2px 0 2px 90%; background: var(--mark-soft); }
  .clip.hit { background: var(--text); outline: 2px solid var(--text); }
  .tick { position: absolute; left: 0; top: 0; bottom: 0; width: 100%; }
  .tick::before { content: ""; position: absolute; left: -1px; top: 0; bottom: 0; width: 3px; background: var(--text); }
  .tick[hidden] { display: none; }
  .life { grid-column: 8; padding-left: 16px; }
  .said { grid-column: 5 / 8; white-space: nowrap; overflow: hidden; text-overflow: ellipsis; }
  .strand { grid-column: 10; align-self: stretch; }
  .over {
    position: absolute;
    z-index: 2;
    left: 8px;
    top: 50%;
    transform: translateY(-50%);
    padding: 0 6px;
    background: var(--ground);
    color: var(--text);
    white-space: nowrap;
  }
  .over:empty, .said:empty { display: none; }
  .verdict, .aside {
    position: absolute !important;
    width: 1px;
    height: 1px;
    overflow: hidden;
    clip-path: inset(50%);
    white-space: nowrap;
  }
  :host([quietly]) .branches, :host([quietly]) .level, :host([quietly]) .peak { visibility: hidden; }
  @media (max-width: 760px) {
    .tint { grid-column: 1 / -1; }
    .branches, .level, .peak, .said, .strand { display: none; }
    .verdict {
      grid-column: 4;
      position: relative !important;
      width: auto;
      height: auto;
      clip-path: none;
      text-overflow: ellipsis;
      padding: 0 8px;
    }
    .life { grid-column: 5; padding: 0 12px 0 0; text-align: right; }
    redpoll-life { --life-bar: none; justify-content: end; }
  }
`;
