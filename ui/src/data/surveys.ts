import type { Problem, Region, Scan, ScanComparison, ScanFacts, ScanFound } from "../protocol/model";
import { type Outcome, post, send } from "./request";

/** A file of a million lines takes its time. */
const FILE_WITHIN_MS = 120_000;

interface Page<T> {
  readonly items: readonly T[];
}

/** Where, when and with what a file was measured; what is left out the console takes from the file, or doesn't know. */
export interface FileCircumstances {
  readonly place: string;
  readonly instrument: string;
  /** ISO 8601; empty for now. */
  readonly takenAt: string;
}

/** All kept scans without their levels, the latest first. */
export function readSurveys(): Promise<Outcome<Page<ScanFacts>>> {
  return send("surveys", {});
}

/** A scan with its levels. */
export function readSurvey(scanId: string): Promise<Outcome<Scan>> {
  return send(surveyPath(scanId), {});
}

/** What a scan shows, on the blocks of a region. */
export function readFound(scanId: string, region: string): Promise<Outcome<ScanFound>> {
  const query = region === "" ? "" : `?${new URLSearchParams({ region })}`;
  return send(`${surveyPath(scanId)}/found${query}`, {});
}

/** A scan held against another. */
export function readComparison(scanId: string, other: string): Promise<Outcome<ScanComparison>> {
  return send(`${surveyPath(scanId)}/against/${encodeURIComponent(other)}`, {});
}

/** Keeps what finished scan acts found, each one sweep of the same; the last of them says when and with what. */
export function keepScan(commandIds: readonly string[], place: string): Promise<Outcome<ScanFacts>> {
  const earlier = commandIds.slice(0, -1);
  const more = earlier.length === 0 ? {} : { earlier_command_ids: earlier };
  return post("surveys", { command_id: commandIds.at(-1), place, ...more });
}

/** Keeps a file of frequencies and levels. */
export async function keepFile(file: Blob, { place, instrument, takenAt }: FileCircumstances, name: string) {
  const asked = { place, instrument, taken_at: takenAt, file: name };
  const query = new URLSearchParams(Object.entries(asked).filter(([, value]) => value !== ""));
  return sendFile(`surveys?${query}`, file);
}

/** The blocks of the parts of the world. */
export function readRegions(): Promise<Outcome<Page<Region>>> {
  return send("regions", {});
}

function surveyPath(scanId: string): string {
  return `surveys/${encodeURIComponent(scanId)}`;
}

async function sendFile(path: string, file: Blob): Promise<Outcome<ScanFacts>> {
  try {
    const response = await fetch(`/api/v1/${path}`, {
      method: "POST",
      headers: { "Content-Type": "text/csv" },
      body: file,
      credentials: "same-origin",
      signal: AbortSignal.timeout(FILE_WITHIN_MS),
    });
    const body: unknown = await response.json();
    return response.ok ? { ok: true, value: body as ScanFacts } : { ok: false, problem: body as Problem };
  } catch {
    return { ok: false, problem: null };
  }
}
