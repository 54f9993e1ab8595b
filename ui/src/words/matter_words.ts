import type { Matter } from "../protocol/model";
import { clockWords, whole } from "../pure/number_words";
import { words } from "./english";

/** The three lines of a matter: what it is, its evidence with the time it began, the act. */
export interface MatterWords {
  readonly title: string;
  readonly evidence: string;
  readonly act: string;
  /** One or two words for the row it touches. */
  readonly verdict: string;
}

/** Names that the sentences are made of. */
export interface MatterNames {
  /** The thing at the root: `Quay receiver 3`. */
  readonly root: string;
  /** The only row touched, `10 Chorus 3`, or its zone or count where there are several. */
  readonly rows: string;
  /** The numbers of the rows touched: `21 and 22`. */
  readonly numbers: string;
}

type Sentences = (matter: Matter, names: MatterNames) => MatterWords;

const SENTENCES: Readonly<Record<string, Sentences>> = {
  "contact-lost": (matter, names) => ({
    title: `${names.root} is silent`,
    evidence: `${names.numbers === "" ? "" : `${names.numbers} `}${since(matter)}`,
    act: "ask the desk, find the break",
    verdict: "no report",
  }),
  "contact-lost-together": (matter, names) => ({
    title: words.fellSilent(matter.evidence["devices_count"] ?? Number.NaN),
    evidence: `${names.numbers === "" ? "" : `${names.numbers} `}${since(matter)}`,
    act: "ask the desk, look for a switch",
    verdict: "no report",
  }),
  "weak-rf": (matter, names) => ({
    title: isHeard(matter) ? `${names.rows} is weak` : `${names.rows} is not heard`,
    evidence: `${since(matter)}${margin(matter)}`,
    act: isHeard(matter) ? "see to pack, body, antenna" : "see to cells, switch, frequency",
    verdict: isHeard(matter) ? "weak" : "not heard",
  }),
  "deaf-branch": (matter, names) => ({
    title: `${names.rows} is going deaf on ${branchLabel(matter)}`,
    evidence: `${since(matter)}${deafness(matter)}`,
    act: "mend that antenna's feed, don't retune",
    verdict: words.deafOn(branchLabel(matter)),
  }),
  "deaf-branch-together": (matter, names) => ({
    title: `${matter.shared === "" ? `Branch ${branchLabel(matter)}` : matter.shared} is going deaf`,
    evidence: `${names.numbers} ${since(matter)}${deafness(matter)}`,
    act: "mend the feed they share, don't retune",
    verdict: words.deafOn(branchLabel(matter)),
  }),
  "audio-damage": (matter, names) => ({
    title: `${names.rows} breaks up`,
    evidence: `${since(matter)}${percent(matter, "damaged_fraction", "of the sound damaged")}`,
    act: "see to lead, link, interference",
    verdict: words.damaged,
  }),
  "pack-overload": (matter, names) => ({
    title: `${names.rows} clips at the pack`,
    evidence: `${since(matter)}${percent(matter, "overloaded_fraction", "of the time")}`,
    act: "pack gain 6 dB down, desk 6 up",
    verdict: "clips at the pack",
  }),
  "wrong-key": (matter, names) => ({
    title: `${names.rows} has the wrong key`,
    evidence: `${since(matter)}, heard well, not understood`,
    act: "right key or the spare; gain is no help",
    verdict: "wrong key",
  }),
  "clock-slips": (matter, names) => ({
    title: `${names.root} clicks`,
    evidence: `${names.numbers} ${since(matter)}${slips(matter)}`,
    act: "look for two clock leaders, keep one",
    verdict: "clicks",
  }),
  "clock-slips-together": (matter, names) => ({
    title: matter.shared === "" ? `${count(matter)} devices click` : `${matter.shared} clicks`,
    evidence: `${names.numbers} ${since(matter)}${slips(matter)}`,
    act: "look for two clock leaders, keep one",
    verdict: "clicks",
  }),
  "clock-unlocked": (matter, names) => ({
    title: `${names.root} has lost its clock`,
    evidence: `${names.numbers} ${since(matter)}`,
    act: "see to the clock's cable and source",
    verdict: "no clock",
  }),
  "clock-unlocked-together": (matter, names) => ({
    title: `${matter.shared === "" ? `${count(matter)} devices` : matter.shared} lost the clock`,
    evidence: `${names.numbers} ${since(matter)}`,
    act: "see to the clock's cable and source",
    verdict: "no clock",
  }),
  "low-cells": (matter, names) => ({
    title: `${names.rows} runs out too early`,
    evidence: `${since(matter)}${cells(matter)}`,
    act: "plan a swap, see the band below",
    verdict: "won't last",
  }),
  "cells-end": (matter, names) => ({
    title: `${names.rows} has cells for minutes`,
    evidence: `${since(matter)}${cells(matter)}`,
    act: "swap cells, or hand over the spare",
    verdict: "cells end",
  }),
  "wake-overdue": (matter, names) => ({
    title: `${names.rows} does not wake`,
    evidence: `due ${since(matter)}`,
    act: "wake it by hand, have the spare ready",
    verdict: "not awake",
  }),
};

/** The words of a matter. A cause that the catalogue doesn't know is said as the console named it. */
export function matterWords(matter: Matter, names: MatterNames): MatterWords {
  const known = SENTENCES[matter.cause];
  if (known !== undefined) return known(matter, names);
  return {
    title: `${names.rows}: ${matter.cause.replaceAll("-", " ")}`,
    evidence: since(matter),
    act: "open the row to see the evidence",
    verdict: matter.cause.replaceAll("-", " "),
  };
}

/** A carrier so little over the floor is none; common practice. */
const HEARD_FROM_DB = 3;

function isHeard(matter: Matter): boolean {
  return (matter.evidence["better_branch_margin_db"] ?? HEARD_FROM_DB) >= HEARD_FROM_DB;
}

function branchLabel(matter: Matter): string {
  return (matter.root.split("/").at(-1) ?? "").toUpperCase();
}

function deafness(matter: Matter): string {
  const behind = matter.evidence["deafness_db"];
  const feed = matter.evidence["feed_ma"];
  const hears = behind === undefined ? "" : `, ${whole(behind)} dB less`;
  return feed === undefined ? hears : `${hears}, feed draws ${whole(feed)} mA`;
}

function percent(matter: Matter, name: string, of: string): string {
  const share = matter.evidence[name];
  return share === undefined ? "" : `, ${whole(share * 100)} % ${of}`;
}

function slips(matter: Matter): string {
  const rate = matter.evidence["slips_per_min"];
  return rate === undefined ? "" : `, ${whole(rate)} a minute`;
}

function cells(matter: Matter): string {
  const left = matter.evidence["battery_minutes"];
  const needed = matter.evidence["needed_min"];
  if (left === undefined) return "";
  return needed === undefined ? `, ${whole(left)} min left` : `, ${whole(left)} min left, ${whole(needed)} needed`;
}

function count(matter: Matter): string {
  const things = matter.evidence["things_count"];
  return things === undefined ? "Several" : whole(things);
}

function since(matter: Matter): string {
  return words.since(clockWords(matter.began_utc_us));
}

function margin(matter: Matter): string {
  const over = matter.evidence["better_branch_margin_db"];
  return over === undefined ? "" : `, ${whole(over)} dB margin`;
}
