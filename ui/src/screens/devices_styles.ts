import { css } from "lit";

export const devicesStyles = css`
  dialog { position: fixed; inset: 0 0 0 auto; margin: 0; width: min(980px, 100vw); height: 100dvh; max-width: none; max-height: none; box-sizing: border-box; overflow: hidden; border: 0; border-left: 1px solid var(--edge); background: var(--raised); color: var(--text); padding: 0; font: inherit; }
  dialog[open] { display: grid; grid-template-rows: auto minmax(0, 1fr) auto; }
  dialog::backdrop { background: rgb(0 0 0 / 45%); }
  .head { display: flex; align-items: center; gap: 16px; padding: 14px 22px; border-bottom: 1px solid var(--rule); }
  h2 { margin: 0; font-size: 20px; }
  h3 { margin: 22px 0 8px; font-size: 16px; }
  .head button { margin-left: auto; }
  .body { overflow: auto; padding: 6px 22px 24px; }
  ul { margin: 0; padding: 0; list-style: none; }
  li { border-bottom: 1px solid var(--rule); padding: 9px 0; }
  .line { display: grid; grid-template-columns: minmax(150px, 1.1fr) minmax(150px, 1fr) minmax(170px, 1.3fr) 256px; gap: 2px 18px; align-items: center; }
  .line > * { min-width: 0; overflow-wrap: anywhere; }
  strong { font-weight: 650; font-size: 17px; }
  .soft { display: block; color: var(--text-soft); font-size: 15px; }
  .mark { display: inline-block; border: 1px dashed var(--edge); padding: 0 7px; font-size: 15px; }
  .mark.real { border-style: solid; }
  .silent { font-weight: 650; }
  .silent::before { content: "▲ "; }
  .line > .mark { justify-self: start; }
  .acts { display: flex; flex-wrap: wrap; gap: 8px; }
  .line > :last-child { justify-self: end; justify-content: end; }
  .more { padding: 10px 0 4px; }
  button, input, select { font: inherit; color: var(--text); background: var(--sunken); border: 1px solid var(--edge); padding: 6px 14px; min-height: 40px; box-sizing: border-box; }
  button { background: none; cursor: pointer; }
  button:disabled { color: var(--text-soft); border-color: var(--rule); cursor: default; }
  :is(button, input, select):focus-visible { outline: 2px solid var(--focus); outline-offset: 2px; }
  form { display: flex; flex-wrap: wrap; gap: 10px; align-items: end; }
  label { display: grid; gap: 3px; color: var(--text-soft); font-size: 15px; }
  label.wide { flex: 1 1 260px; }
  .said { margin: 0; padding: 10px 22px; border-top: 1px solid var(--rule); font-weight: 600; }
  .said:empty { display: none; }
  @media (max-width: 760px) {
    .head { padding: 10px 14px; }
    .body { padding: 4px 14px 20px; }
    .line { grid-template-columns: minmax(0, 1fr); }
    .line > :last-child { justify-self: start; justify-content: start; margin-top: 6px; }
    button, input, select { min-height: 44px; }
  }
`;
