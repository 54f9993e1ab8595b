import type { SpectrumTraces } from "../plots/spectrum";
import type { SpectrumMarks } from "../plots/spectrum_marks";
import { megahertz, whole } from "../pure/number_words";
import { levelAt, type Span } from "../pure/spectrum";
import { scoutWords } from "../words/scout_words";

const NEAR_OWN_HZ = 100_000;
const { picture } = scoutWords;

/** What lies at a frequency, in words: the levels, the block, who is kept out of it and whose it is. */
export function readoutAt(
  hertz: number,
  traces: SpectrumTraces,
  marks: Pick<SpectrumMarks, "own" | "keptOut" | "blocks" | "windows">,
): string {
  const inside = ({ fromHz, toHz }: Span) => hertz >= fromHz && hertz < toHz;
  const own = marks.own.find((one) => Math.abs(one.hertz - hertz) <= NEAR_OWN_HZ);
  const block = marks.blocks.find(inside);
  const kept = marks.keptOut.find(inside);
  return [
    picture.at(megahertz(Math.round(hertz / 1000) * 1000)),
    block === undefined ? "" : picture.block(block.name, block.words),
    ...levelWords(hertz, traces),
    kept === undefined ? "" : picture.keptOut(kept.words),
    marks.windows.length === 0 || marks.windows.some(inside) ? "" : picture.outside,
    own === undefined ? "" : picture.own(own.label),
  ]
    .filter((part) => part !== "")
    .join(" · ");
}

function levelWords(hertz: number, { maximum, median, occupancy, against }: SpectrumTraces): string[] {
  const at = (stretch: typeof maximum) => (stretch === null ? null : levelAt(stretch, hertz));
  const [most, half, often, before] = [at(maximum), at(median), at(occupancy), at(against)];
  return [
    most === null ? picture.notHeard : picture.level(whole(most)),
    half === null ? "" : picture.median(whole(half)),
    often === null ? "" : picture.often(whole(often * 100)),
    before === null ? "" : picture.before(whole(before)),
  ];
}
