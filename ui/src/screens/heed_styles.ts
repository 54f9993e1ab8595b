import { css } from "lit";

export const heedStyles = css`
  :host {
    --row-columns: 40px 34px 174px 26px 72px 44px 82px 136px 16px minmax(0, 1fr) 14px;
    display: grid;
    grid-template-rows: 26px minmax(0, 1fr);
    min-height: 0;
    position: relative;
  }
  .field { position: relative; min-height: 0; }
  .scroller { position: absolute; inset: 0; overflow-x: hidden; overflow-y: auto; scrollbar-width: thin; scrollbar-color: var(--edge) var(--ground); }
  .content { position: relative; }
  .zone { display: flex; align-items: center; height: var(--zone-height); padding-left: 16px; color: var(--text-soft); font-weight: 600; line-height: 1; }
  .zone::after { content: ""; width: 380px; margin-left: 10px; border-top: 1px solid var(--rule); }
  canvas { position: absolute; top: 0; z-index: 1; pointer-events: none; }
  canvas[hidden] { display: none; }
  redpoll-detail { position: relative; z-index: 3; }
  .brackets { position: absolute; inset: 0; display: grid; grid-template-columns: var(--row-columns); pointer-events: none; }
  .lanes { grid-column: 4; position: relative; }
  .bracket { position: absolute; width: 8px; border: 2px solid; border-right: 0; color: var(--text); }
  .bracket.lane1 { left: 12px; }
  .bracket.lane0 { left: 5px; }
  .bracket.one { color: var(--priority-1); }
  .bracket.two { color: var(--priority-2); }
  .bracket.three { color: var(--priority-3); }
  .bracket redpoll-mark { --mark-size: 18px; position: absolute; left: -10px; top: 50%; transform: translateY(-50%); background: var(--ground); padding: 2px 0; }
  .bracket i { position: absolute; left: 0; width: 6px; border-top: 2px solid; }
  .stripes { position: absolute; z-index: 2; top: 0; left: 0; pointer-events: none; }
  .stripe { position: absolute; height: var(--zone-height); padding-left: 5px; border-left: 2px solid var(--text); color: var(--text); white-space: nowrap; line-height: var(--zone-height); }
  .find { position: absolute; z-index: 5; right: 24px; top: 2px; display: flex; gap: 10px; align-items: center; padding: 8px 12px; background: var(--raised); border: 1px solid var(--edge); }
  .find[hidden] { display: none; }
  .find input { font: inherit; width: 14em; min-height: 34px; padding: 0 8px; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); }
  .find input:focus-visible { outline: 2px solid var(--focus); outline-offset: 1px; }
  @media (max-width: 1500px) {
    :host { --row-columns: 30px 26px 130px 22px 64px 38px 62px 112px 12px minmax(0, 1fr) 10px; grid-template-rows: 24px minmax(0, 1fr); }
  }
  @media (max-width: 760px) {
    :host { --row-columns: 34px 26px minmax(0, 1fr) 116px 70px; grid-template-rows: minmax(0, 1fr); }
    .brackets { grid-template-columns: 6px; }
    .lanes { grid-column: 1; }
    .bracket redpoll-mark { left: 4px; }
    .bracket.lane0, .bracket.lane1 { left: 2px; }
    .stripes { display: none; }
  }
`;
