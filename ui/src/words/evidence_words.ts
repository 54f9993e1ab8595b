import { decimal } from "../pure/number_words";

const UNITS: Readonly<Record<string, string>> = {
  dbm: "dBm",
  db: "dB",
  s: "s",
  hz: "Hz",
  v: "V",
  fraction: "",
  min: "min",
};

/** Measured values as `better branch margin 12.4 dB`; the unit is what the name ends with. */
export function evidenceWords(evidence: Readonly<Record<string, number>>): string[] {
  return Object.entries(evidence).map(([name, value]) => {
    const parts = name.split("_");
    const unit = UNITS[parts.at(-1) ?? ""];
    const label = (unit === undefined ? parts : parts.slice(0, -1)).join(" ");
    return `${label} ${decimal(value, 1)} ${unit ?? ""}`.trim();
  });
}
