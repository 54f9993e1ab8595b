import { css } from "lit";

export const lanesStyles = css`
  :host { display: grid; grid-template: minmax(0, 1fr) auto / var(--lane-names, 148px) minmax(0, 1fr); min-height: 0; min-width: 0; }
  .scroller { grid-column: 1 / -1; position: relative; overflow-x: hidden; overflow-y: auto; scrollbar-width: thin; scrollbar-color: var(--edge) var(--ground); min-height: 0; }
  .content { position: relative; display: grid; grid-template-columns: var(--lane-names, 148px) minmax(0, 1fr); }
  .names { position: relative; }
  .name { position: absolute; left: 0; right: 0; padding: 0 10px 0 16px; display: flex; flex-direction: column; justify-content: center; line-height: 1.2; overflow: hidden; }
  .name b { font-weight: 620; overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
  .name span { color: var(--text-soft); white-space: nowrap; }
  .name.low { flex-direction: row; align-items: center; justify-content: space-between; gap: 4px; padding: 0 6px 0 10px; }
  .name.order { color: var(--text-soft); justify-content: flex-start; padding-top: 6px; }
  .name.unit { color: var(--text-soft); align-items: flex-end; }
  .plot { position: relative; touch-action: pan-y; cursor: crosshair; outline: none; }
  .plot:focus-visible::after { content: ""; position: absolute; inset: 0; border: 2px solid var(--focus); pointer-events: none; }
  .plot.moving { cursor: grabbing; }
  canvas { display: block; width: 100%; }
  .view { grid-column: 2; display: flex; align-items: center; gap: 8px; padding: 6px 0; }
  .track { position: relative; flex: 1; height: 10px; background: var(--strand-ground); border: 1px solid var(--rule); }
  .thumb { position: absolute; top: -1px; bottom: -1px; left: 0; width: 100%; background: var(--trough); border: 1px solid var(--edge); }
  button { font: inherit; color: var(--text-soft); background: none; border: 1px solid var(--edge); padding: 0 12px; min-height: 32px; cursor: pointer; }
  button:focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  @media (pointer: coarse), (max-width: 760px) { button { min-height: 44px; min-width: 44px; } }
  @media (max-width: 1500px) { :host { --lane-names: 132px; } }
  @media (max-width: 760px) {
    :host { --lane-names: 0px; }
    .name { z-index: 1; width: max-content; right: auto; padding: 2px 8px; flex-direction: row; gap: 8px; justify-content: flex-start; height: auto !important; pointer-events: none; background: color-mix(in srgb, var(--ground) 70%, transparent); }
    .name.unit { display: none; }
    .view { padding: 6px 10px; }
  }
`;
