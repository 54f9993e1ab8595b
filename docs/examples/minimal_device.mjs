// A receiver of the Redpoll device protocol 1.0 in Node, without any package: node minimal_device.mjs [PORT]
//
// A number on its standard input is a turn of its pack's low-cut, the word "hand" the hand that a change of cells waits for.
// The first part speaks WebSocket (RFC 6455) as far as a device needs it, the second the protocol.

import { createHash, randomBytes } from "node:crypto";
import { createServer } from "node:http";
import { createInterface } from "node:readline";

// ---------------------------------------------------------------- WebSocket

const NAME = "redpoll.device.1";
const MAXIMUM_BYTES = 1 << 20;

/** Parse the frames of one socket: a text goes to `hear`, anything that breaks the rules ends the connection. */
class Frames {
  constructor(socket, hear) {
    this.socket = socket;
    this.hear = hear;
    this.waiting = Buffer.alloc(0);
    this.parts = [];
  }

  take(data) {
    this.waiting = Buffer.concat([this.waiting, data]);
    for (let frame = this.next(); frame; frame = this.next()) this.obey(frame);
  }

  /** The next whole frame, or null while more must come. */
  next() {
    const bytes = this.waiting;
    if (bytes.length < 2 || this.socket.destroyed) return null;
    const short = bytes[1] & 0x7f;
    const start = short === 126 ? 4 : short === 127 ? 10 : 2;
    if (bytes.length < start + 4) return null;
    const length = short === 126 ? bytes.readUInt16BE(2) : short === 127 ? Number(bytes.readBigUInt64BE(2)) : short;
    if (!(bytes[1] & 0x80) || bytes[0] & 0x70) return this.end(1002);
    if (length > MAXIMUM_BYTES) return this.end(1009);
    if (bytes.length < start + 4 + length) return null;
    const payload = Buffer.from(bytes.subarray(start + 4, start + 4 + length));
    for (let i = 0; i < length; i++) payload[i] ^= bytes[start + (i & 3)];
    this.waiting = bytes.subarray(start + 4 + length);
    return { last: (bytes[0] & 0x80) !== 0, opcode: bytes[0] & 0x0f, payload };
  }

  obey({ last, opcode, payload }) {
    if (opcode === 8) this.end(1000);
    else if (opcode === 9) this.send(payload, 10);
    else if (opcode <= 1 && (opcode === 1) === (this.parts.length === 0)) this.collect(last, payload);
    else if (opcode !== 10) this.end(opcode === 2 ? 1003 : 1002);
  }

  collect(last, payload) {
    this.parts.push(payload);
    const size = this.parts.reduce((sum, part) => sum + part.length, 0);
    if (size > MAXIMUM_BYTES) return this.end(1009);
    if (!last) return;
    const text = Buffer.concat(this.parts);
    this.parts = [];
    if (this.hear(text) === false) this.end(1000);
  }

  send(payload, opcode = 1) {
    const bytes = Buffer.from(payload);
    const head = Buffer.alloc(bytes.length < 126 ? 2 : bytes.length < 65536 ? 4 : 10);
    head[0] = 0x80 | opcode;
    head[1] = bytes.length < 126 ? bytes.length : bytes.length < 65536 ? 126 : 127;
    if (head.length === 4) head.writeUInt16BE(bytes.length, 2);
    if (head.length === 10) head.writeBigUInt64BE(BigInt(bytes.length), 2);
    if (this.socket.writable && this.socket.writableLength < MAXIMUM_BYTES) this.socket.write(Buffer.concat([head, bytes]));
    else this.socket.destroy(); // It doesn't read what it asked for.
  }

  end(code) {
    if (this.socket.writable) this.socket.end(Buffer.from([0x88, 2, code >> 8, code & 0xff]));
    this.waiting = Buffer.alloc(0);
    return null;
  }
}

/** Answer the upgrade of a console, and refuse what is no console: a web page, or a client of something else. */
function upgrade(request, socket, first) {
  const names = (request.headers["sec-websocket-protocol"] ?? "").split(",").map((name) => name.trim());
  const key = request.headers["sec-websocket-key"];
  if (request.headers.origin !== undefined || !key || !names.includes(NAME) || consoles.size >= 8) {
    socket.end("HTTP/1.1 403 Forbidden\r\nConnection: close\r\n\r\n");
    return;
  }
  const accept = createHash("sha1").update(`${key}258EAFA5-E914-47DA-95CA-C5AB0DC85B11`).digest("base64");
  socket.write(
    "HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n" +
      `Sec-WebSocket-Accept: ${accept}\r\nSec-WebSocket-Protocol: ${NAME}\r\n\r\n`,
  );
  const console = new Console(socket);
  consoles.add(console);
  if (first.length > 0) console.frames.take(first);
  socket.on("data", (data) => console.frames.take(data));
  socket.on("error", () => socket.destroy());
  socket.on("close", () => consoles.delete(console));
}

// ---------------------------------------------------------------- the device

const [DEVICE, CARRIER, BRANCH, CHANNEL] = ["rock", "rock/carrier/1", "rock/carrier/1/branch/a", "rock/channel/1"];
const PACK = "pack/n1";
const LOW_CUT = { type: "integer", minimum: 0, maximum: 160, multiple_of: 10 };
const SECONDS = { type: "integer", minimum: 1, maximum: 60 };
const SUMMARY = { kind: "receiver", form: "an example", simulated: true };
const DESCRIPTION = {
  ...SUMMARY,
  device_id: DEVICE,
  read_only: false,
  carriers: [{ address: CARRIER, branches: [BRANCH], channels: [CHANNEL] }],
  channels: [{ address: CHANNEL, carrier: CARRIER, pack: PACK }],
  packs: [PACK],
  capabilities: [
    { targets: [PACK], field: "low_cut_hz", held: "pack", unit: "Hz", fastest_interval_ms: 0, schema: LOW_CUT },
    {
      targets: [PACK],
      field: "cell_type",
      held: "pack",
      needs_hand: true,
      fastest_interval_ms: 0,
      schema: { type: "string", enum: ["AA alkaline", "AA lithium"] },
    },
  ],
  acts: [
    {
      targets: [DEVICE],
      act: "identify",
      cancellable: true,
      arguments: [{ name: "seconds", unit: "s", required: true, schema: SECONDS }],
    },
  ],
};
const WORDS = {
  [-32700]: "parse error",
  [-32600]: "invalid request",
  [-32601]: "unknown method",
  [-32602]: "invalid params",
  [-32010]: "unsupported",
  [-32011]: "out of range",
  [-32013]: "busy",
  [-32015]: "conflict",
  [-32018]: "no common version",
};
const BOOT = randomBytes(4).toString("hex");
const consoles = new Set();
const waiting = new Map(); // Commands that wait for a hand or go on, by id: at most 16.
const taken = new Map(); // Commands that were taken, by id, with their answers: the last 4,096.
const things = new Map();
for (const [address, settings] of [
  [DEVICE, { name: "Rock" }],
  [CARRIER, { frequency_hz: 606_000_000 }],
  [CHANNEL, {}],
  [PACK, { low_cut_hz: 80, cell_type: "AA alkaline" }],
]) {
  things.set(address, { address, revision: `${BOOT}.1`, settings });
}
let blocks = 0;
let changes = 1;

/** An error answer: its number, its words for people, what else it says. */
class Refused extends Error {
  constructor(code, words, more = {}) {
    super(words);
    this.code = code;
    this.more = more;
  }
}

function hold(condition, code, words, more) {
  if (!condition) throw new Refused(code, words, more);
}

const timeUs = () => Math.round(performance.now() * 1000);
const isText = (value) => typeof value === "string" && value.length > 0 && value.length <= 256;
const isMap = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/** Hold a value to its schema; a step is counted from the minimum. */
function fit(schema, name, value) {
  const steps = Number.isInteger(value) && (value - schema.minimum) % (schema.multiple_of ?? 1) === 0;
  const good = schema.enum ? schema.enum.includes(value) : steps && value >= schema.minimum && value <= schema.maximum;
  hold(good, -32011, `${name} must fit ${JSON.stringify(schema)}`);
}

/** Change settings of the pack and tell every console, each with the cause as it stands to that one. */
function change(settings, cause, command_id = "", asker = null) {
  const pack = things.get(PACK);
  Object.assign(pack.settings, settings);
  pack.revision = `${BOOT}.${++changes}`;
  for (const each of consoles) {
    const told = asker === null || asker === each ? cause : "other client";
    each.tell("changed", { address: PACK, revision: pack.revision, cause: told, settings, command_id });
  }
}

/** The loop that measures, ten times a second: frames and heartbeats come from here and from nowhere else. */
function measure() {
  blocks += 1;
  const device_time_us = timeUs();
  for (const each of consoles) {
    if (blocks % 10 === 0) each.tell("heartbeat", { device_time_us, boot_id: BOOT, counter: blocks });
    for (const [subscription, frames] of each.subscriptions) {
      if (blocks % frames.every !== 0 && frames.sequence > 0) continue;
      const values = [-55 - (blocks % 40) / 10, null, false]; // The charge of its cells isn't known, which is not zero.
      const exact = frames.sequence > 0 ? {} : { [CHANNEL]: { identity: PACK } };
      each.tell("readings", { subscription, sequence: frames.sequence++, device_time_us, values, exact });
    }
  }
}

/** What somebody does at the pack: a number turns the low-cut, "hand" does what waits for a hand. */
function turn(line) {
  if (line.trim() !== "hand") {
    change({ low_cut_hz: Number(line) }, "panel");
    return;
  }
  for (const [command_id, { asker, settings }] of waiting) {
    if (!settings) continue;
    waiting.delete(command_id);
    change(settings, "command", command_id, asker);
    asker.tell("outcome", { command_id, outcome: "done" });
  }
}

/** One conversation; `state` is opening, greeted or described. */
class Console {
  constructor(socket) {
    this.frames = new Frames(socket, (text) => this.hear(text));
    this.state = "opening";
    this.subscriptions = new Map();
    this.subscribed = 0;
  }

  say(message) {
    this.frames.send(JSON.stringify({ jsonrpc: "2.0", ...message }));
  }

  tell(method, params) {
    if (this.state === "described" || (this.state === "greeted" && method === "heartbeat")) this.say({ method, params });
  }

  /** Take a message in and answer it; false ends the conversation. */
  hear(text) {
    let id = null;
    try {
      const asked = parsed(text);
      if (asked.id === undefined) return true; // A notification of a later version.
      const known = METHODS.has(asked.method);
      hold(Number.isSafeInteger(asked.id) && asked.id >= 0, -32600, "the id is no whole number");
      hold(!known || allowed(this.state, asked.method), -32600, `${asked.method} is not allowed while ${this.state}`);
      id = asked.id;
      hold(known, -32601, `unknown method ${asked.method}`);
      this.answer(id, asked.method, asked.params);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      const data = { code: WORDS[error.code], ...error.more };
      this.say({ id, error: { code: error.code, message: error.message.slice(0, 200), data } });
      return id !== null && this.state !== "opening";
    }
    return true;
  }

  answer(id, method, params) {
    hold(isMap(params) && typeof params.target === "string", -32602, "no target");
    const { target } = params;
    const there = method === "hello" ? target === "" : things.has(target) || target === BRANCH;
    hold(there, -32010, `nothing here is ${target}`);
    const later = [];
    const result = METHODS.get(method)(this, params, (what) => later.push(what));
    this.say({ id, result: { ...result, device_time_us: timeUs() } });
    for (const what of later) what();
  }
}

/** One JSON-RPC request. JSON.parse knows no NaN; text that isn't UTF-8 is none of ours either. */
function parsed(bytes) {
  try {
    const asked = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
    if (isMap(asked) && asked.jsonrpc === "2.0" && typeof asked.method === "string") return asked;
  } catch {
    // It is refused below.
  }
  throw new Refused(-32700, "that is no message of ours");
}

function allowed(state, method) {
  if (state === "opening") return method === "hello";
  return method === "describe" || (state === "described" && method !== "hello");
}

/** Take a command once; the same id again has the same answer and no second effect. */
function once(console, params, later, take) {
  const { command_id } = params;
  hold(isText(command_id), -32602, "no command_id");
  if (!taken.has(command_id)) {
    taken.set(command_id, take(command_id, (outcome) => console.tell("outcome", { command_id, outcome })));
    if (taken.size > 4096) taken.delete(taken.keys().next().value);
  }
  return { state: taken.get(command_id) };
}

function write(console, params, later) {
  const { target, changes: settings, revision } = params;
  hold(isMap(settings) && Object.keys(settings).length > 0, -32602, "no changes");
  return once(console, params, later, (command_id, end) => {
    for (const [field, value] of Object.entries(settings)) {
      const capability = DESCRIPTION.capabilities.find((each) => each.field === field && each.targets.includes(target));
      hold(capability, -32010, `${target} has no ${field}`);
      fit(capability.schema, field, value);
    }
    hold(revision === things.get(target).revision, -32015, `revision ${things.get(target).revision} is current`);
    if ("cell_type" in settings) {
      hold(waiting.size < 16, -32013, "too much waits already", { retry_after_s: 10 });
      waiting.set(command_id, { asker: console, settings });
      return "waiting for a hand";
    }
    later(() => change(settings, "command", command_id, console));
    later(() => end("done"));
    return "accepted";
  });
}

function act(console, params, later) {
  const { target, act: name, arguments: given = {} } = params;
  hold(isText(name) && isMap(given), -32602, "no act");
  return once(console, params, later, (command_id, end) => {
    hold(name === "identify" && target === DEVICE, -32010, `${target} has no act ${name}`);
    hold(Object.keys(given).join() === "seconds", -32011, "identify takes seconds and nothing else");
    fit(SECONDS, "seconds", given.seconds);
    hold(waiting.size < 16, -32013, "too much goes on already", { retry_after_s: 10 });
    const timer = setTimeout(() => waiting.delete(command_id) && end("done"), given.seconds * 1000);
    waiting.set(command_id, { asker: console, timer });
    return "accepted";
  });
}

function cancel(console, { command_id }, later) {
  const found = waiting.get(command_id);
  if (!found) return { cancelled: false };
  waiting.delete(command_id);
  clearTimeout(found.timer);
  later(() => found.asker.tell("outcome", { command_id, outcome: "cancelled" }));
  return { cancelled: true };
}

function hello(console, { versions }) {
  hold(Array.isArray(versions), -32602, "no versions");
  const common = versions.some((version) => isText(version) && version.startsWith("1."));
  hold(common, -32018, "this device speaks 1.0", { versions: ["1.0"] });
  console.state = "greeted";
  return { version: "1.0", boot_id: BOOT, read_only: false, devices: [{ id: DEVICE, digest: "1", ...SUMMARY }] };
}

function describe(console) {
  console.state = "described";
  return { description: DESCRIPTION };
}

function read(console, { target }) {
  const settings = [...things.values()].filter(({ address }) => target === DEVICE || target === address);
  return { settings, exact: { [CHANNEL]: { identity: PACK } } };
}

function subscribe(console, { interval_ms }) {
  hold(Number.isInteger(interval_ms) && interval_ms >= 20, -32602, "no interval_ms");
  hold(console.subscriptions.size < 16, -32013, "at most 16 subscriptions", { retry_after_s: 1 });
  const every = Math.max(1, Math.floor(interval_ms / 100));
  const subscription = ++console.subscribed;
  console.subscriptions.set(subscription, { every, sequence: 0 });
  const layout = [
    { address: BRANCH, readings: ["rf_dbm"] },
    { address: PACK, readings: ["battery_fraction", "asleep"] },
  ];
  return { subscription, interval_ms: every * 100, layout };
}

function unsubscribe(console, { subscription }) {
  hold(console.subscriptions.delete(subscription), -32010, `no subscription ${subscription}`);
  return {};
}

const METHODS = new Map(Object.entries({ hello, describe, read, write, act, cancel, subscribe, unsubscribe }));

const server = createServer((request, response) => response.writeHead(426).end());
server.on("upgrade", upgrade);
server.listen(Number(process.argv[2] ?? 7374), "127.0.0.1", () => {
  process.stdout.write(`listening on ws://127.0.0.1:${server.address().port}\n`);
  setInterval(measure, 100);
  createInterface({ input: process.stdin }).on("line", turn);
});
