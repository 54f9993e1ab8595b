import type { Store } from "../data/store";
import type { BayFacts } from "../elements/bays";
import type { LineFacts } from "../elements/lines";
import type { DeviceDescription } from "../protocol/model";
import { decimal, megahertz, minutesWords, whole } from "../pure/number_words";
import { sheetWords } from "../words/sheet_words";
import { valueText } from "../words/value_words";
import { exactText, goodCode, goodNumber } from "./reading_facts";
import { packName, partTitle, whoOf } from "./thing_names";

const { overview } = sheetWords;
const LEAST_DBM = -110;
const MOST_DBM = -30;
/** A feed that draws this much fills its bar; common practice for antenna boosters. */
const FULL_FEED_MA = 150;
const POOR_HEALTH = 0.6;

/** What a device looks like as a whole: its bays, its sockets, its outputs, its ways from antenna to sound. */
export interface Overview {
  readonly bays: readonly BayFacts[];
  readonly sockets: readonly LineFacts[];
  readonly outputs: readonly LineFacts[];
  readonly paths: readonly LineFacts[];
}

export function overviewOf(store: Store, description: DeviceDescription, now: number): Overview {
  return {
    bays: description.bays.map((address) => bayOf(store, address, now)),
    sockets: description.inputs.map((address) => socketOf(store, address, now)),
    outputs: description.outputs.map((output) => outputOf(store, output.address, output.form)),
    paths: description.channels.map((channel) => pathOf(store, description, channel, now)),
  };
}

function bayOf(store: Store, address: string, now: number): BayFacts {
  const number = (name: string) => goodNumber(store, "bay", address, name, now);
  const state = goodCode(store, "bay", address, "charge_state", now);
  const identity = exactText(store, address, "identity") ?? "";
  const occupied = identity !== "" || (state !== "" && state !== "empty");
  const [left, health] = [number("minutes_to_full"), number("health_fraction")];
  const more = [
    Number.isNaN(left) || left <= 0 ? "" : overview.until(minutesWords(left)),
    Number.isNaN(health) ? "" : overview.health(whole(health * 100)),
  ];
  const charge = number("battery_fraction");
  const percent = Number.isNaN(charge) ? "" : overview.charge(whole(charge * 100));
  return {
    address,
    label: address.split("/").at(-1) ?? "",
    pack: occupied ? (identity === "" ? overview.nobody : packName(store, identity)) : "",
    state: state === "empty" ? "" : [state, state === "full" ? "" : percent].filter(Boolean).join(", "),
    charge: occupied ? charge : Number.NaN,
    more: more.filter((part) => part !== ""),
    odd: state === "fault" || state === "too hot" || health < POOR_HEALTH,
  };
}

function socketOf(store: Store, address: string, now: number): LineFacts {
  const settings = store.picture?.settings.get(address)?.reported ?? {};
  const milliamperes = goodNumber(store, "input", address, "feed_ma", now);
  const fault = goodNumber(store, "input", address, "feed_fault", now) === 1;
  const path = store.picture?.production.antenna_paths.find((one) => one.input === address);
  const powered = settings["feed_powered"];
  const said = [
    fault ? overview.feedFault : powered === true ? overview.powered : powered === false ? overview.unpowered : "",
    path === undefined ? "" : overview.hangs(path.feed),
    path === undefined ? "" : overview.feeds(path.branches.length),
  ];
  return {
    address,
    label: partTitle(store, { place: "input", address, label: address.split("/").at(-1) ?? "" }),
    share: Number.isNaN(milliamperes) ? Number.NaN : Math.min(milliamperes / FULL_FEED_MA, 1),
    figure: Number.isNaN(milliamperes) ? "" : `${whole(milliamperes)} mA`,
    said: said.filter((part) => part !== ""),
    odd: fault,
  };
}

function outputOf(store: Store, address: string, form: string): LineFacts {
  const settings = store.picture?.settings.get(address)?.reported ?? {};
  const { level_db, delay_ms, source, clock } = settings;
  const said = [
    form,
    source === undefined ? "" : overview.from(valueText(source)),
    clock === undefined ? "" : overview.clock(valueText(clock)),
    typeof delay_ms === "number" && delay_ms > 0 ? `${decimal(delay_ms, 1)} ms` : "",
  ];
  return {
    address,
    label: partTitle(store, { place: "output", address, label: address.split("/").at(-1) ?? "" }),
    share: null,
    figure: typeof level_db === "number" ? `${decimal(level_db, 1)} dB` : "",
    said: said.filter((part) => part !== ""),
    odd: false,
  };
}

function pathOf(
  store: Store,
  description: DeviceDescription,
  channel: DeviceDescription["channels"][number],
  now: number,
): LineFacts {
  const carrier = description.carriers.find((one) => one.address === channel.carrier);
  const levels = (carrier?.branches ?? []).map((branch) => goodNumber(store, "branch", branch, "rf_dbm", now));
  const best = levels.reduce((one, other) => (other > one || Number.isNaN(one) ? other : one), Number.NaN);
  const frequency = store.picture?.settings.get(channel.carrier)?.reported["frequency_hz"];
  const state = goodCode(store, "channel", channel.address, "audio_state", now);
  const heard = exactText(store, channel.address, "identity") ?? "";
  const said = [
    typeof frequency === "number" ? `${megahertz(frequency)} MHz` : "",
    heard === "" ? overview.noPack : overview.hears(packName(store, heard)),
    state === "" || state === "open" ? "" : state.replaceAll("_", " "),
  ];
  const who = whoOf(store, "channel", channel.address);
  return {
    address: channel.address,
    label: who === "" ? (channel.address.split("/").at(-1) ?? "") : who,
    share: Number.isNaN(best) ? Number.NaN : Math.min(Math.max((best - LEAST_DBM) / (MOST_DBM - LEAST_DBM), 0), 1),
    figure: Number.isNaN(best) ? "" : `${whole(best)} dBm`,
    said: said.filter((part) => part !== ""),
    odd: state === "no_key",
  };
}
