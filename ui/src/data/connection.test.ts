import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { ternRock } from "../../gallery/tern_rock";
import { Connection } from "./connection";
import { Store } from "./store";

/** A socket that does what the test tells it to. */
class FakeSocket {
  static opened: FakeSocket[] = [];
  binaryType = "";
  sent: string[] = [];
  closed = false;
  onopen: (() => void) | null = null;
  onmessage: ((event: { data: string | ArrayBuffer }) => void) | null = null;
  onclose: (() => void) | null = null;

  constructor(readonly url: string) {
    FakeSocket.opened.push(this);
  }

  send(text: string): void {
    this.sent.push(text);
  }

  close(): void {
    this.closed = true;
  }
}

let sessionStatus = 200;

function answer(): Promise<Response> {
  if (sessionStatus === 0) return Promise.reject(new TypeError("failed to fetch"));
  const body = sessionStatus === 200 ? { person: { name: "p", roles: ["viewer"] } } : { detail: "there is no session" };
  return Promise.resolve(new Response(JSON.stringify(body), { status: sessionStatus }));
}

beforeEach(() => {
  FakeSocket.opened = [];
  sessionStatus = 200;
  vi.useFakeTimers();
  vi.stubGlobal("WebSocket", FakeSocket);
  vi.stubGlobal("fetch", answer);
  vi.stubGlobal("location", { hash: "", protocol: "http:", host: "127.0.0.1:8000", reload: () => undefined });
});

afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

async function live(): Promise<{ store: Store; connection: Connection; socket: FakeSocket }> {
  const store = new Store();
  const connection = new Connection(store);
  await connection.start();
  const socket = latest();
  socket.onopen?.();
  socket.onmessage?.({ data: JSON.stringify(ternRock(1e15)) });
  return { store, connection, socket };
}

function latest(): FakeSocket {
  const socket = FakeSocket.opened.at(-1);
  if (socket === undefined) throw new Error("no socket was opened");
  return socket;
}

test("the feed is subscribed and live with the first picture", async () => {
  const { store, connection, socket } = await live();
  expect(socket.url).toBe("ws://127.0.0.1:8000/api/v1/live");
  expect(JSON.parse(socket.sent[0] ?? "")).toMatchObject({
    type: "subscribe",
    rate_hz: 10,
    since: null,
    form: "binary",
  });
  expect(store.link.state).toBe("live");
  connection.stop();
});

test("a lost feed is opened again by itself, asking for what was missed", async () => {
  const { store, connection, socket } = await live();
  socket.onclose?.();
  expect(store.link.state).toBe("lost");
  await vi.advanceTimersByTimeAsync(1000);
  expect(FakeSocket.opened).toHaveLength(2);
  latest().onopen?.();
  expect(JSON.parse(latest().sent[0] ?? "").since).toBe(1);
  latest().onmessage?.({ data: JSON.stringify(ternRock(1e15)) });
  expect(store.link.state).toBe("live");
  connection.stop();
});

test("a feed that says nothing is dropped, even when its end is never told", async () => {
  const { store, connection, socket } = await live();
  await vi.advanceTimersByTimeAsync(4100);
  expect(socket.closed).toBe(true);
  expect(store.link.state).not.toBe("live");
  connection.stop();
});

test("while the console doesn't answer, the pauses grow but stay bounded", async () => {
  const { store, connection, socket } = await live();
  sessionStatus = 0;
  socket.onclose?.();
  await vi.advanceTimersByTimeAsync(120_000);
  expect(store.link.state).toBe("lost");
  const link = store.link;
  if (link.state !== "lost" || link.retryAtMs === null) throw new Error("no retry is planned");
  expect(link.retryAtMs - performance.now()).toBeLessThanOrEqual(8000);
  sessionStatus = 200;
  await vi.advanceTimersByTimeAsync(8001);
  expect(FakeSocket.opened.length).toBeGreaterThan(1);
  connection.stop();
});

test("somebody who doesn't want to wait opens one feed, not two", async () => {
  const { connection, socket } = await live();
  socket.onclose?.();
  connection.retryNow();
  connection.retryNow();
  await vi.advanceTimersByTimeAsync(3000);
  expect(FakeSocket.opened).toHaveLength(2);
  connection.stop();
});

test("without a session the page says so, and doesn't try for ever", async () => {
  sessionStatus = 401;
  const store = new Store();
  const connection = new Connection(store);
  await connection.start();
  expect(store.link.state).toBe("no session");
  await vi.advanceTimersByTimeAsync(60_000);
  expect(FakeSocket.opened).toHaveLength(0);
});

test("a message that can't be read ends the link with its reason", async () => {
  const { store, connection, socket } = await live();
  socket.onmessage?.({ data: Uint8Array.of(9, 9, 9, 9).buffer });
  expect(socket.closed).toBe(true);
  expect(store.link).toMatchObject({ state: "lost", reason: expect.stringContaining("version 9") });
  connection.stop();
});

test("a goodbye is kept as the reason", async () => {
  const { store, connection, socket } = await live();
  socket.onmessage?.({ data: JSON.stringify({ type: "bye", reason: "the console ends" }) });
  socket.onclose?.();
  expect(store.link).toMatchObject({ state: "lost", reason: "the console ends" });
  connection.stop();
});
