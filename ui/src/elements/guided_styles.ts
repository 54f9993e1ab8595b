import { css } from "lit";

export const guidedStyles = css`
  section { border-top: 1px solid var(--rule); margin-top: 14px; }
  label { display: grid; gap: 2px; color: var(--text-soft); margin-bottom: 8px; }
  .question { border-left: 3px solid var(--text); padding-left: 9px; font-weight: 620; }
  .answers { display: grid; gap: 8px; margin: 8px 0; }
  .answers > div { display: grid; grid-template-columns: 2em minmax(0, 1fr); align-items: center; gap: 8px; }
  .answers button { min-height: 44px; text-align: left; }
  kbd { font: inherit; font-weight: 650; border: 1px solid var(--edge); text-align: center; padding: 2px 0; }
  li { display: grid; grid-template-columns: minmax(0, 1fr) auto; gap: 2px 12px; padding: 5px 0; border-top: 1px solid var(--rule); overflow-wrap: anywhere; }
  li .soft { grid-column: 1 / -1; }
  strong { font-weight: 650; padding: 0 8px; border: 1px solid currentColor; align-self: start; }
  strong.asked { border-style: dashed; }
  strong.unknown { border: 3px double currentColor; }
`;
