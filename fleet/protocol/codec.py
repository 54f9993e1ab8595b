"""Bytes to messages and back: one door in, with its limits, and one way out.

A message is read by one parser: where a member stands twice, the last one counts, at every step alike. Numbers beyond
a double, NaN and lone surrogates are no JSON here and are refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import msgspec
from msgspec import UNSET, Raw, UnsetType

from fleet.errors import LimitReached, MalformedMessage
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.depth import exceeds_depth

_REASON_LENGTH_MAXIMUM = 200
READINGS_PREFIX = b'{"jsonrpc":"2.0","method":"readings",'


@dataclass(frozen=True, slots=True)
class Limits:
    """The bounds of one session and, in the comments, what happens there."""

    message_bytes: int = 1 << 20  # A larger message is malformed when it comes in, LimitReached when it would go out.
    depth: int = 32  # Deeper is malformed.
    pending_requests: int = 64  # The console's next request raises LimitReached; the device answers busy.
    outgoing_messages: int = 4096  # Sending more without draining raises LimitReached.
    subscriptions: int = 16  # The device refuses the next one by itself as busy.


LIMITS = Limits()


class ErrorBody(msgspec.Struct, frozen=True, omit_defaults=True):
    """The error of a response."""

    code: int
    message: messages.Words
    data: dict[str, Any] = {}


class Envelope(msgspec.Struct, frozen=True):
    """A JSON-RPC 2.0 object of any kind, its contents not looked at yet."""

    jsonrpc: Literal["2.0"]
    id: messages.Count | UnsetType | None = UNSET
    method: str | UnsetType = UNSET
    params: Raw | UnsetType = UNSET
    result: Raw | UnsetType = UNSET
    error: ErrorBody | UnsetType = UNSET


class _Call(msgspec.Struct, frozen=True):
    jsonrpc: str
    id: int
    method: str
    params: Any


class _Notification(msgspec.Struct, frozen=True):
    jsonrpc: str
    method: str
    params: Any


class _Answer(msgspec.Struct, frozen=True):
    jsonrpc: str
    id: int
    result: Any


class _Error(msgspec.Struct, frozen=True):
    jsonrpc: str
    id: int | None
    error: ErrorBody


class _PlainReadings(messages.Readings, frozen=True, omit_defaults=True, gc=False, forbid_unknown_fields=True):
    """A frame that has no member but those of this version, and so can't be nested deeply."""


class _PlainNotification(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    jsonrpc: Literal["2.0"]
    method: Literal["readings"]
    params: _PlainReadings


_ENVELOPE = msgspec.json.Decoder(Envelope)
_PLAIN_READINGS = msgspec.json.Decoder(_PlainNotification)
_BODIES: dict[Any, msgspec.json.Decoder[Any]] = {
    shape: msgspec.json.Decoder(shape)
    for shapes in (messages.REQUESTS, messages.RESULTS, messages.NOTIFICATIONS)
    for shape in shapes.values()
}
_ENCODER = msgspec.json.Encoder()
# RecursionError guards a caller who sets the depth limit beyond what the parser can bear.
_UNREADABLE = (msgspec.DecodeError, UnicodeDecodeError, RecursionError)


def checked_bytes(data: str | bytes, limits: Limits = LIMITS) -> bytes:
    """The message as bytes, its size and depth within the limits.

    Raises MalformedMessage.
    """
    if isinstance(data, str):
        try:
            data = data.encode()
        except UnicodeEncodeError as error:
            raise MalformedMessage("the text holds a lone surrogate") from error
    if len(data) > limits.message_bytes:
        raise MalformedMessage(f"{len(data)} bytes are more than the {limits.message_bytes} allowed")
    if exceeds_depth(data, limits.depth):
        raise MalformedMessage(f"nested more than {limits.depth} deep")
    return data


def decode_envelope(data: bytes) -> Envelope:
    """The JSON-RPC object in ``data``.

    Raises MalformedMessage when it is none, or a batch, which this protocol doesn't have.
    """
    try:
        return _ENVELOPE.decode(data)
    except _UNREADABLE as error:
        raise MalformedMessage(reason_of("message", error)) from error


def plain_readings(data: str | bytes, limits: Limits = LIMITS) -> messages.Readings | None:
    """The quick way for what comes most: a readings notification that is written as the codec writes it.

    None for anything else, good or bad, which then goes through ``checked_bytes`` and ``decode_envelope``; what is
    accepted here is accepted there, with the same values.
    """
    if not isinstance(data, bytes) or not data.startswith(READINGS_PREFIX) or len(data) > limits.message_bytes:
        return None
    try:
        return _PLAIN_READINGS.decode(data).params
    except _UNREADABLE:
        return None


def decode_body(name: str, raw: Raw | bytes, shape: type[Any]) -> Any:
    """``raw`` as one of the shapes of messages.py; ``name`` says in the error what it was.

    Raises MalformedMessage.
    """
    try:
        return _BODIES[shape].decode(raw)
    except _UNREADABLE as error:
        raise MalformedMessage(reason_of(name, error)) from error


def reason_of(name: str, error: Exception) -> str:
    """What is wrong with a message, short enough to be shown."""
    words = "nested too deep" if isinstance(error, RecursionError) else str(error)
    return f"{name}: {words}"[:_REASON_LENGTH_MAXIMUM]


def encode_request(request_id: int, method: str, params: messages.RequestParams) -> bytes:
    """A request as it travels."""
    return _bounded(_Call("2.0", request_id, method, params))


def encode_notification(body: messages.NotificationBody) -> bytes:
    """A notification as it travels. Values that are NaN travel as null, absent."""
    return _bounded(_Notification("2.0", messages.METHOD_OF[type(body)], body))


def encode_result(request_id: int, result: messages.ResultBody) -> bytes:
    """A good answer as it travels."""
    return _bounded(_Answer("2.0", request_id, result))


def encode_error(request_id: int | None, code: ErrorCode, words: str, data: dict[str, Any] | None = None) -> bytes:
    """An error answer as it travels; ``data.code`` carries the word of the code."""
    body = ErrorBody(int(code), words[:_REASON_LENGTH_MAXIMUM], {"code": code.word, **(data or {})})
    return _bounded(_Error("2.0", request_id, body))


def _bounded(message: msgspec.Struct) -> bytes:
    encoded = _ENCODER.encode(message)
    if len(encoded) > LIMITS.message_bytes:
        raise LimitReached("bytes of a device message", LIMITS.message_bytes)
    return encoded
