import { afterEach, expect, test, vi } from "vitest";
import { acknowledge, changeSettings, journalOf, settingsPath } from "./commands";

interface Asked {
  readonly url: string;
  readonly request: RequestInit;
}

afterEach(() => vi.unstubAllGlobals());

function answering(...answers: readonly (readonly [status: number, body: unknown])[]): Asked[] {
  const asked: Asked[] = [];
  vi.stubGlobal("fetch", (url: string, request: RequestInit) => {
    asked.push({ url, request });
    const [status, body] = answers[asked.length - 1] ?? [500, {}];
    return Promise.resolve(new Response(status === 204 ? null : JSON.stringify(body), { status }));
  });
  return asked;
}

test("settings are found under their thing", () => {
  expect(settingsPath("pack/k01")).toBe("packs/k01/settings");
  expect(settingsPath("house-1")).toBe("devices/house-1/settings");
  expect(settingsPath("house-1/carrier/1")).toBe("devices/house-1/carriers/1/settings");
  expect(settingsPath("house-1/channel/2")).toBe("devices/house-1/channels/2/settings");
  expect(settingsPath("house-1/carrier/1/branch/a")).toBe("devices/house-1/carriers/1/branches/a/settings");
  expect(settingsPath("sink-1/bay/8")).toBe("devices/sink-1/bays/8/settings");
});

test("a write names the revision that was seen and its own id", async () => {
  const asked = answering([202, { command_id: "id-1", state: "sent" }]);
  const outcome = await changeSettings("pack/k01", "boot.7", { low_cut_hz: 100 }, "id-1");
  expect(outcome.ok).toBe(true);
  expect(asked[0]?.url).toBe("/api/v1/packs/k01/settings");
  expect(asked[0]?.request).toMatchObject({ method: "PATCH", body: '{"low_cut_hz":100}' });
  expect(asked[0]?.request.headers).toEqual({
    "Content-Type": "application/merge-patch+json",
    "If-Match": '"boot.7"',
    "Command-Id": "id-1",
  });
});

test("a problem comes back as the console said it, a dead line as none", async () => {
  answering([412, { status: 412, detail: "stale" }]);
  expect(await changeSettings("pack/k01", "boot.6", {}, "id")).toMatchObject({ ok: false, problem: { status: 412 } });
  vi.stubGlobal("fetch", () => Promise.reject(new TypeError("failed to fetch")));
  expect(await acknowledge(["a"])).toEqual({ ok: false, problem: null });
});

test("an answer without a body is good", async () => {
  answering([204, null]);
  expect((await acknowledge(["a"])).ok).toBe(true);
});

test("the journal is read page by page, not from its beginning", async () => {
  const event = (sequence: number) => ({ sequence, kind: "console started" });
  const asked = answering([200, { items: [event(8001)], next: "8001" }], [200, { items: [event(9000)], next: null }]);
  const outcome = await journalOf("house-1", 10_000);
  expect(outcome.ok && outcome.value.map((one) => one.sequence)).toEqual([8001, 9000]);
  expect(asked.map(({ url }) => new URL(url, "http://x").searchParams.get("since"))).toEqual(["8000", "8001"]);
});
