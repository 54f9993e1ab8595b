"""A receiver of the Redpoll device protocol 1.0. A number on its standard input is a turn of its pack's low-cut."""

import asyncio
import collections
import itertools
import json
import secrets
import sys
import threading
import weakref

from websockets.asyncio.server import broadcast, serve

DESCRIPTION = json.loads("""{
  "device_id": "dock", "kind": "receiver", "form": "an example", "simulated": true, "read_only": false,
  "carriers": [{"address": "dock/carrier/1", "branches": ["dock/carrier/1/branch/a"], "channels": ["dock/channel/1"]}],
  "channels": [{"address": "dock/channel/1", "carrier": "dock/carrier/1", "pack": "pack/m1"}],
  "capabilities": [{"targets": ["pack/m1"], "field": "low_cut_hz", "held": "pack", "unit": "Hz",
    "fastest_interval_ms": 0, "schema": {"type": "integer", "minimum": 0, "maximum": 160, "multiple_of": 10}}],
  "acts": [{"targets": ["dock"], "act": "identify", "arguments": [{"name": "seconds", "unit": "s",
    "required": true, "schema": {"type": "integer", "minimum": 1, "maximum": 60}}]}], "packs": ["pack/m1"]}""")
DEVICE, CARRIER, BRANCH, CHANNEL = "dock", "dock/carrier/1", "dock/carrier/1/branch/a", "dock/channel/1"
PACK, METHODS = "pack/m1", ["hello", "describe", "read", "write", "act", "cancel", "subscribe", "unsubscribe"]
LAYOUT = [{"address": BRANCH, "readings": ["rf_dbm"]}, {"address": PACK, "readings": ["battery_fraction"]}]
ORDER = {("write", "", PACK): ("low_cut_hz", range(0, 161, 10)), ("act", "identify", DEVICE): ("seconds", range(1, 61))}
SETTINGS = {DEVICE: {"name": "Dock"}, CARRIER: {"frequency_hz": 606_000_000}, CHANNEL: {}, PACK: {"low_cut_hz": 80}}
BLOCKS, CHANGES, LOOP, NAME = itertools.count(1), itertools.count(2), asyncio.new_event_loop(), "redpoll.device.1"
BOOT, CONSOLES, TAKEN = secrets.token_hex(4), weakref.WeakSet(), collections.deque(maxlen=4096)  # Commands taken.
THINGS = {at: {"address": at, "revision": f"{BOOT}.1", "settings": given} for at, given in SETTINGS.items()}
WORD = {-32700: "parse error", -32600: "invalid request", -32601: "unknown method", -32602: "invalid params"}
WORD |= {-32010: "unsupported", -32011: "out of range", -32013: "busy", -32015: "conflict", -32018: "no common version"}


def hold(condition, code, words):
    if not condition:
        raise PermissionError(code, words)


def change(changes, cause, command_id="", asker=None):
    """Change settings of the pack and tell every console, each with the cause as it stands to that one."""
    THINGS[PACK]["settings"] |= changes
    THINGS[PACK]["revision"] = f"{BOOT}.{next(CHANGES)}"
    news = {**THINGS[PACK], "settings": changes, "command_id": command_id}
    for each in CONSOLES:
        each.say(2, method="changed", params={**news, "cause": cause if asker in (None, each) else "other client"})


def measure():
    """The loop that measures, ten times a second: frames and heartbeats come from here and from nowhere else."""
    LOOP.call_later(0.1, measure)
    block, now = next(BLOCKS), {"device_time_us": round(LOOP.time() * 1e6)}
    values = [-55 - block % 40 / 10, None]  # The charge of its cells isn't known, which is not zero.
    for each in CONSOLES:
        if block % 10 == 0:
            each.say(1, method="heartbeat", params={**now, "boot_id": BOOT, "counter": block})
        for number, (blocks, sequence) in each.frames.items():
            if block % blocks == 0 or not sequence:
                frame = {**now, "values": values, "exact": {} if sequence else {CHANNEL: {"identity": PACK}}}
                each.say(2, method="readings", params={"subscription": number, "sequence": sequence, **frame})
                each.frames[number] = (blocks, sequence + 1)


class Console:
    """One conversation. ``state`` is 0 before the greeting, 1 before the description, 2 from then on."""

    def __init__(self, socket):
        self.socket, self.state, self.frames = socket, 0, {}

    def say(self, since, **message):
        if self.state >= since:
            broadcast([self.socket], json.dumps({"jsonrpc": "2.0", **message}))

    def hear(self, text):
        """Take a message in and answer it; whether the conversation goes on."""
        number, code = None, -32700
        try:
            asked = json.loads(text, parse_constant=int)  # int("NaN") raises ValueError, as it should.
            method, params = asked["method"], asked.get("params")
            if "id" not in asked:
                return True  # A notification of a later version.
            allowed = (METHODS[:1], METHODS[1:2], METHODS[1:])[self.state]
            hold(type(asked["id"]) is int and (method not in METHODS or method in allowed), -32600, "not allowed now")
            number, code = asked["id"], -32602
            hold(method in METHODS, -32601, f"unknown method {method}")
            hold("" + params["target"] in (*THINGS, BRANCH if self.state else ""), -32010, f"no {params['target']}")
            steps = self.answer(method, params["target"], params)
            self.say(0, id=number, result={**next(steps), "device_time_us": round(LOOP.time() * 1e6)})
            return list(steps) == []  # What follows the answer is done now.
        except (PermissionError, LookupError, TypeError, AttributeError, ValueError, RecursionError) as problem:
            code, words = problem.args if isinstance(problem, PermissionError) else (code, repr(problem))
        more = {-32013: {"retry_after_s": 1.0}, -32018: {"versions": ["1.0"]}}.get(code, {})
        self.say(0, id=number, error={"code": code, "message": words[:200], "data": {"code": WORD[code], **more}})
        return number is not None and self.state > 0

    def answer(self, method, target, params):
        """Yield the result of a request, then do what follows it."""
        match method:
            case "hello":
                hold(any(each.startswith("1.") for each in params["versions"]), -32018, "this device speaks 1.0")
                hold(len(CONSOLES) <= 8, -32013, "eight consoles are served already")
                self.state = 1
                device = {"id": DEVICE, "kind": "receiver", "form": "an example", "simulated": True, "digest": "1"}
                yield {"version": "1.0", "boot_id": BOOT, "read_only": False, "devices": [device]}
            case "describe":
                self.state = 2
                yield {"description": DESCRIPTION}
            case "read":
                read = [thing for at, thing in THINGS.items() if target in (DEVICE, at)]
                yield {"settings": read, "exact": {CHANNEL: {"identity": PACK}}}
            case "subscribe":
                hold(len(self.frames) < 16, -32013, "at most 16 subscriptions")
                number, blocks = max(self.frames, default=0) + 1, max(1, params["interval_ms"] // 100)
                self.frames[number] = (blocks, 0)
                yield {"subscription": number, "interval_ms": blocks * 100, "layout": LAYOUT}
            case "unsubscribe" | "cancel":  # Nothing here waits or goes on, so that there is nothing to give up.
                ended = self.frames.pop(params.get("subscription"), None)
                hold(ended or method == "cancel", -32010, "no such subscription")
                yield {"cancelled": False} if method == "cancel" else {}
            case _:  # A write or an act; the same id again has the same answer and no second effect.
                repeated, given = params["command_id"] in TAKEN, params["changes" if method == "write" else "arguments"]
                order = (method, params["act"] if method == "act" else "", target)
                name, steps = ORDER.get(order, ("", ()))
                hold(set(given) == {name}, -32010, f"{target} has no such {order[1] or 'setting'}")
                hold(type(given[name]) is int and given[name] in steps, -32011, f"{name} must lie in {steps}")
                now = THINGS[PACK]["revision"]
                hold(repeated or method == "act" or params["revision"] == now, -32015, f"revision {now} is current")
                yield {"state": "accepted"}
                TAKEN.append(params["command_id"])
                if method == "write" and not repeated:
                    change(given, "command", params["command_id"], self)
                self.say(2, method="outcome", params={"command_id": params["command_id"], "outcome": "done"})


async def main(port):
    async def talk(socket):
        CONSOLES.add(console := Console(socket))
        async for text in socket:
            if not console.hear(text):
                break

    async with serve(talk, "127.0.0.1", port, subprotocols=[NAME], origins=[None], compression=None) as server:
        print(f"listening on ws://127.0.0.1:{server.sockets[0].getsockname()[1]}", flush=True)
        measure()
        panel = (LOOP.call_soon_threadsafe(change, {"low_cut_hz": int(line)}, "panel") for line in sys.stdin)
        threading.Thread(target=list, args=[panel], daemon=True).start()
        await server.serve_forever()


LOOP.run_until_complete(main(int(sys.argv[1]) if sys.argv[1:] else 7373))
