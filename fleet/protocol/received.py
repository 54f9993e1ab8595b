"""What a session hands to its caller: the conversation in order, typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.protocol.messages import NotificationBody, RequestParams, ResultBody


@dataclass(frozen=True, slots=True)
class Request:
    """A request arrived at the device; it must be answered or refused under its id."""

    request_id: int
    params: RequestParams


@dataclass(frozen=True, slots=True)
class Result:
    """The device answered the request of that id."""

    request_id: int
    method: str
    body: ResultBody


@dataclass(frozen=True, slots=True)
class Refusal:
    """The device answered the request of that id with an error.

    ``word`` names the code; ``data`` holds what else the device said, such as ``retry_after_s`` or ``fields``.
    """

    request_id: int
    method: str
    code: int
    word: str
    words: str
    data: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Gap:
    """Frames of a subscription are missing; it comes before the frame that shows it."""

    subscription: int
    expected: int
    received: int


@dataclass(frozen=True, slots=True)
class Rebooted:
    """A heartbeat came from another boot than the one that was greeted.

    Without a target the conversation is over. With one, that device behind a gateway restarted: its subscriptions have
    ended, and it must be described, read and subscribed anew; the heartbeat follows.
    """

    before: str
    after: str
    target: str = ""


Received = Request | Result | Refusal | NotificationBody | Gap | Rebooted
