import { html, nothing } from "lit";
import { numbersWords } from "../pure/list_words";
import { decimal, megahertz } from "../pure/number_words";
import { hertzOf } from "../pure/stretches";
import { words } from "../words/english";
import { scoutWords } from "../words/scout_words";
import { momentWords, scanAge, withWords } from "./scout_lines";
import type { Survey } from "./scout_survey";
import type { ScoutView } from "./scout_view";

/** What is printed on every scan: where, when, how old, with what; where there is room; and what to be wary of. */
export function renderTitle(survey: Survey, view: ScoutView, nowUtcUs: number) {
  const { scan } = survey;
  if (scan === null) return nothing;
  const calibrated = scoutWords.calibrated[`${scan.calibrated}`];
  const bandwidth = scan.bandwidth_hz === null ? "" : scoutWords.bandwidth(`${scan.bandwidth_hz / 1000}`);
  const details = [withWords(scan), scoutWords.sweeps(scan.sweeps), bandwidth, calibrated, scan.words];
  return html`<h2>${scan.place}</h2>
    <span class="age">${scanAge(scan, nowUtcUs)}</span>
    <span>${momentWords(scan.taken_at_utc_us, nowUtcUs)}</span>
    ${scan.simulated ? html`<span class="simulated">${words.simulated}</span>` : nothing}
    <span class="soft">${details.filter((one) => one !== "").join(" · ")}</span>
    ${survey.other === null ? nothing : html`<span>${scoutWords.against(survey.other.place, scanAge(survey.other, nowUtcUs))}</span>`}
    ${view.traces.old ? html`<p class="asks">${scoutWords.oldAdvice}</p>` : nothing}
    ${renderOwnHeard(view)}`;
}

/** How much room there is, and where most of it is in one piece. */
export function renderRoom({ beside: { room } }: ScoutView) {
  const [widest] = [...room].sort((one, other) => other.toHz - other.fromHz - (one.toHz - one.fromHz));
  return html`<span class="room">${scoutWords.room(decimal(hertzOf(room) / 1e6, 1), room.length)}
    ${widest === undefined ? nothing : html`<span class="soft">${scoutWords.widest(decimal((widest.toHz - widest.fromHz) / 1e6, 1), megahertz(widest.fromHz))}</span>`}</span>`;
}

function renderOwnHeard({ beside }: ScoutView) {
  const heard = beside.own.filter((one) => one.heard).flatMap((one) => one.numbers);
  if (heard.length === 0) return nothing;
  return html`<p class="asks">${scoutWords.ownHeard(numbersWords(heard, words.and, words.to), heard.length > 1)}</p>`;
}
