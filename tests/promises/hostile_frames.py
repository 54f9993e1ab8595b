"""What a hostile, broken or hijacked device might send: real messages, bent in every way that luck can think of."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

TRANSCRIPTS = Path(__file__).parents[1] / "wire"
ODD_VALUES: tuple[Any, ...] = (
    None, True, -1, 0, 2**53, 2**63, 2**64, -(2**70), 1e308, -0.0, "", "NaN", "\u0000", "\u202e", "\ud800",
    [], {}, [[]], {"": ""}, "rack-2/channel/1", "pack/p3", "rack-2", "../../etc", "x" * 70_000,
)  # fmt: skip
RAW: tuple[bytes, ...] = (
    b"", b" ", b"null", b"0", b'"hello"', b"[]", b"{}", b"{", b'{"jsonrpc":"2.0"}', b"\xff\xfe", b"\x00" * 64,
    b"[" * 40 + b"]" * 40, b"[" * 200_000, b'{"a":' * 10_000, b'{"jsonrpc":"2.0","method":"readings","params":NaN}',
    b'{"jsonrpc":"2.0","method":"notice","params":{"code":"c","words":"\\ud800"}}',
    b'{"jsonrpc":"2.0","method":"heartbeat","params":{"device_time_us":1e999,"boot_id":"b","counter":1}}',
    b'{"jsonrpc":"2.0","method":"notice","params":{"code":"c","words":"' + b"w" * 1_100_000 + b'"}}',
)  # fmt: skip


def from_devices() -> list[dict[str, Any]]:
    """Everything that a device says in the golden transcripts, as if the first receiver of a small stage said it."""
    texts = [path.read_text("utf-8") for path in sorted(TRANSCRIPTS.glob("*.jsonl"))]
    lines = "\n".join(texts).replace("pack/k17", "pack/p1").replace("quay-1", "rack-1").splitlines()
    messages = [message for line in lines if line.strip() for message in _messages(json.loads(line))]
    return [message for message in messages if "method" not in message or "id" not in message]


def _messages(entry: Any) -> list[dict[str, Any]]:
    """The messages within one entry of a transcript, however it wraps them."""
    if isinstance(entry, dict) and entry.get("jsonrpc") == "2.0":
        return [entry]
    inner = entry.values() if isinstance(entry, dict) else entry if isinstance(entry, list) else ()
    return [message for each in inner for message in _messages(each)]


def aimed_at(device_id: str, other: str) -> list[dict[str, Any]]:
    """Well-formed messages of one device that speak of another's things."""
    reading = {f"{other}/channel/1": {"identity": "pack/p9"}, "pack/p3": {"identity": "pack/p9"}}
    frame = {"subscription": 1, "sequence": 1, "device_time_us": 1, "values": [], "exact": reading}
    notifications: list[tuple[str, dict[str, Any]]] = [
        ("changed", {"address": other, "revision": "b.9", "cause": "panel", "settings": {"name": "mine"}}),
        ("changed", {"address": "pack/p3", "revision": "b.9", "cause": "panel", "settings": {"muted": True}}),
        ("changed", {"address": device_id, "revision": "b.9", "cause": "panel", "settings": {"name": "=1+1"}}),
        ("outcome", {"command_id": "c-of-the-other", "outcome": "done"}),
        ("described", {"digest": "another"}),
        ("heartbeat", {"device_time_us": 2**62, "boot_id": "another", "counter": 2**62}),
        ("readings", frame),
        ("notice", {"code": "n" * 300, "words": "<script>alert(1)</script>"}),
    ]
    return [{"jsonrpc": "2.0", "method": name, "params": params} for name, params in notifications]


class Forge:
    """Frames by luck, from what devices say."""

    def __init__(self, luck: np.random.Generator, heard: list[dict[str, Any]]) -> None:
        self._luck = luck
        self._heard = heard

    def frame(self) -> bytes:
        """One hostile frame."""
        if self._luck.random() < 0.15:
            return RAW[self._luck.integers(len(RAW))]
        message = json.loads(json.dumps(self._heard[self._luck.integers(len(self._heard))]))
        if self._luck.random() < 0.7:
            self._bend(message)
        data = json.dumps(message, separators=(",", ":")).encode()
        return self._spoil(data) if self._luck.random() < 0.3 else data

    def _bend(self, message: Any) -> None:
        """Put something odd in the place of a member somewhere inside."""
        here = message
        while True:
            keys: list[Any] = list(here) if isinstance(here, dict) else list(range(len(here)))
            if not keys:
                return
            key = keys[self._luck.integers(len(keys))]
            deeper = here[key]
            if not (isinstance(deeper, dict | list) and deeper) or self._luck.random() < 0.3:
                break
            here = deeper
        if isinstance(here, dict) and self._luck.random() < 0.2:
            del here[key]
            return
        here[key] = ODD_VALUES[self._luck.integers(len(ODD_VALUES))]

    def _spoil(self, data: bytes) -> bytes:
        at = int(self._luck.integers(len(data)))
        ways: tuple[Callable[[], bytes], ...] = (
            lambda: data[:at],
            lambda: data[at:],
            lambda: data[:at] + bytes([int(self._luck.integers(256))]) + data[at + 1 :],
            lambda: data + data,
            lambda: data.replace(b'"', b"'"),
            lambda: data.replace(b":1", b":1e999", 1),
        )
        return ways[self._luck.integers(len(ways))]()
