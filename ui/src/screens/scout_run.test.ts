import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Picture } from "../data/picture";
import type { Command, CommandState } from "../protocol/model";
import { ScanRun } from "./scout_run";

const ASKED = {
  address: "scan-1",
  place: "House left",
  span: { fromHz: 470e6, toHz: 471e6 },
  stepHz: 25_000,
  sweeps: 2,
};

interface Sent {
  readonly path: string;
  readonly body: Record<string, unknown>;
  readonly commandId: string | null;
}

let sent: Sent[] = [];
let keepStatus = 201;

/** A console that takes everything and answers at once. */
function answer(path: string, request: RequestInit): Response {
  const headers = new Headers(request.headers);
  const body = request.body === undefined ? {} : JSON.parse(String(request.body));
  sent.push({ path: path.replace("/api/v1/", ""), body, commandId: headers.get("Command-Id") });
  if (path.endsWith("/levels")) {
    return Response.json({ stretches: [{ start_hz: 470e6, step_hz: 25_000, levels_dbm: [-80] }] });
  }
  if (path.endsWith("/surveys"))
    return Response.json({ scan_id: "house-left", detail: "the disk is full" }, { status: keepStatus });
  return Response.json({}, { status: 202 });
}

function picture(commandId: string, state: CommandState, fraction: number | null = null): Picture {
  const command = { command_id: commandId, state, progress: null, reason: "" } as Command;
  const progress = fraction === null ? new Map() : new Map([[commandId, { fraction, words: "", stretches: 1 }]]);
  return { commands: new Map([[commandId, command]]), progress } as unknown as Picture;
}

const settled = () => new Promise<void>((resolve) => setImmediate(resolve));
const lastCommand = () => sent.findLast((one) => one.commandId !== null)?.commandId ?? "";

function run() {
  const kept: string[] = [];
  const host = { addController: () => undefined, requestUpdate: () => undefined };
  const made = new ScanRun(host as never, (scanId) => kept.push(scanId));
  return { made, kept };
}

beforeEach(() => {
  sent = [];
  keepStatus = 201;
  vi.stubGlobal("fetch", (path: string, request: RequestInit) => Promise.resolve(answer(path, request)));
});
afterEach(() => vi.unstubAllGlobals());

describe("a scan of two sweeps", () => {
  it("asks for one after the other, and keeps both when the second is done", async () => {
    const { made, kept } = run();
    await made.begin(ASKED);
    const first = lastCommand();
    expect(made.running).toBe(true);
    made.follow(picture(first, "accepted", 0.5));
    await settled();
    expect(made.fraction).toBe(0.25);
    expect(made.found).toMatchObject({ start_hz: 470e6 });
    made.follow(picture(first, "confirmed"));
    await settled();
    const second = lastCommand();
    expect(second).not.toBe(first);
    expect(made.fraction).toBe(0.5);
    made.follow(picture(second, "confirmed"));
    await settled();
    expect(sent.at(-1)).toMatchObject({
      path: "surveys",
      body: { command_id: second, place: "House left", earlier_command_ids: [first] },
    });
    expect(kept).toEqual(["house-left"]);
    expect(made.asked).toBeNull();
  });

  it("offers what is done when it is given up, and forgets nothing when it can't be kept", async () => {
    const { made } = run();
    await made.begin(ASKED);
    const first = lastCommand();
    made.follow(picture(first, "confirmed"));
    await settled();
    made.follow(picture(lastCommand(), "cancelled"));
    expect(made.running).toBe(false);
    expect(made.done).toEqual([first]);
    keepStatus = 507;
    await made.keep();
    expect(made.keeping).toBe("failed");
    expect(made.problem).toContain("the disk is full");
    expect(sent.at(-1)?.body).toEqual({ command_id: first, place: "House left" });
  });
});
