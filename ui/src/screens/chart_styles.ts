import { css } from "lit";

export const chartStyles = css`
  * { box-sizing: border-box; }
  :host { grid-row: watch; grid-column: 1; display: grid; grid-template: auto minmax(0, 1fr) auto / minmax(0, 1fr) 420px; min-height: 0; min-width: 0; }
  redpoll-plan-head { grid-column: 1 / -1; border-bottom: 1px solid var(--rule); }
  .problem { grid-column: 1 / -1; margin: 6px 16px 0; padding: 6px 12px; border: 2px solid var(--text); background: var(--raised); overflow-wrap: anywhere; }
  :host([troubled]) { grid-template-rows: auto auto minmax(0, 1fr) auto; }
  redpoll-lanes { min-height: 0; }
  .empty { display: grid; place-content: center; gap: 6px; padding: 20px; text-align: center; color: var(--text-soft); }
  aside { display: grid; grid-template-rows: auto minmax(0, 1fr); min-height: 0; border-left: 1px solid var(--rule); }
  [role="tablist"] { display: flex; border-bottom: 1px solid var(--rule); }
  [role="tab"] { flex: 1; font: inherit; font-weight: 600; color: var(--text-soft); background: none; border: 0; min-height: 40px; padding: 0 8px; cursor: pointer; white-space: nowrap; }
  [role="tab"][aria-selected="true"] { color: var(--text); box-shadow: inset 0 -3px 0 var(--text); }
  [role="tab"] span { font-weight: 400; color: var(--text-soft); }
  [role="tab"]:focus-visible, .panel:focus-visible { outline: 2px solid var(--focus); outline-offset: -2px; }
  .panel { overflow-y: auto; padding: 12px 16px; scrollbar-width: thin; scrollbar-color: var(--edge) var(--ground); }
  redpoll-neighbours { margin-bottom: 14px; }
  redpoll-chart-if { margin-top: 18px; }
  .caution { grid-column: 1 / -1; margin: 0; padding: 5px 16px; border-top: 1px solid var(--rule); color: var(--text-soft); line-height: 1.25; }
  @media (max-width: 1500px) { :host { grid-template-columns: minmax(0, 1fr) 350px; } .caution { padding: 3px 10px; } }
  @media (max-width: 760px), (pointer: coarse) { [role="tab"] { min-height: 44px; } }
  @media (max-width: 760px) {
    :host { display: block; overflow-y: auto; }
    redpoll-lanes { height: 62vh; min-height: 320px; }
    aside { display: block; border-left: 0; border-top: 1px solid var(--rule); }
    .panel { overflow: visible; padding: 12px 10px; }
    [role="tab"] span { display: none; }
    .caution { position: sticky; bottom: 0; background: var(--ground); z-index: 3; padding: 4px 10px; }
    .problem { margin: 6px 10px 0; }
  }
`;
