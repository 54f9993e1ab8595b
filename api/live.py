"""The live WebSocket: one subscription, then the whole picture and every change, until somebody goes.

A connection ends with a *bye* that says why. A client that doesn't take what it is sent is dropped: it never holds up
another, and its next connection begins with a fresh picture.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Coroutine, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec
from fastapi import APIRouter, WebSocket
from starlette.websockets import WebSocketDisconnect

from api.answers import PersonView
from api.body import parse_json, validated
from api.desk import Desk, DeskHere
from api.live_messages import ByeMessage
from api.problems import RequestRefused, problem_of, refusal
from api.requests import PlaceName, SubscribeRequest
from api.roles import Role, SessionHere, needs
from api.security import Session
from fleet.errors import LimitReached, RedpollError
from fleet.feed import Form, Fresh, Subscription, View
from fleet.model.address import Place

SUBSCRIBE_WITHIN_S = 5.0
SEND_WITHIN_S = 5.0
BYE_WITHIN_S = 1.0
MESSAGE_BYTES_MAXIMUM = 65_536
CLIENT_MESSAGES_MAXIMUM = 1_000
"""What a client may say after its subscription; it has no need to say anything."""

GOING_AWAY = 1001
NOT_ACCEPTED = 1008
TRY_LATER = 1013

router = APIRouter()
_log = logging.getLogger("redpoll.live")


@dataclass(frozen=True, slots=True)
class Ending:
    """Why a connection ends, and its WebSocket close code. ``reason`` is empty when the client is gone already."""

    code: int
    reason: str


_GONE = Ending(GOING_AWAY, "")


@router.websocket("/api/v1/live", dependencies=[needs(Role.VIEWER)])
async def live(websocket: WebSocket, desk: DeskHere, session: SessionHere) -> None:
    """Serve one live connection from its subscription to its end."""
    async with _counted(desk):
        await websocket.accept()
        ending = await _served(websocket, desk, session)
        await _say_bye(websocket, ending)


@contextlib.asynccontextmanager
async def _counted(desk: Desk) -> AsyncIterator[None]:
    """Hold one of the places for live connections.

    Raises RequestRefused (429) when all are taken.
    """
    if not desk.live.enter():
        raise refusal("limit-reached", "As many screens are connected as this console serves.", retry_after_s=5)
    try:
        yield
    finally:
        desk.live.leave()


async def _served(websocket: WebSocket, desk: Desk, session: Session) -> Ending:
    try:
        async with asyncio.timeout(SUBSCRIBE_WITHIN_S):
            asked = await _subscription_asked(websocket)
    except TimeoutError:
        return Ending(NOT_ACCEPTED, f"no subscription came within {SUBSCRIBE_WITHIN_S:g} s")
    except RequestRefused as error:
        return Ending(NOT_ACCEPTED, error.problem.detail)
    except WebSocketDisconnect:
        return _GONE
    try:
        subscription = desk.console.subscribe(view_of(asked), asked.since)
    except LimitReached as error:
        return Ending(TRY_LATER, problem_of(error).detail)
    except RedpollError as error:
        return Ending(NOT_ACCEPTED, problem_of(error).detail)
    try:
        with _at_a_screen(desk, session.person.name):
            return await _first_of(
                _send_all(websocket, subscription, _Greeting(session.person, desk.version)),
                _listen(websocket),
                _until_over(desk, session),
                _until_stopping(desk),
            )
    finally:
        subscription.close()


@contextlib.contextmanager
def _at_a_screen(desk: Desk, person: str) -> Iterator[None]:
    """Tell the console while somebody watches: who holds a zone keeps it as long."""
    if desk.live.opened(person):
        desk.console.screens_changed(person, any_open=True)
    try:
        yield
    finally:
        if desk.live.closed(person):
            desk.console.screens_changed(person, any_open=False)


async def _subscription_asked(websocket: WebSocket) -> SubscribeRequest:
    """The client's first message.

    Raises RequestRefused when it isn't a subscription.
    """
    message = await websocket.receive()
    if message["type"] == "websocket.disconnect":
        raise WebSocketDisconnect(message.get("code", GOING_AWAY))
    text = message.get("text")
    if text is None or len(text.encode("utf-8", "replace")) > MESSAGE_BYTES_MAXIMUM:
        raise refusal("unreadable-body", f"the first message must be text of at most {MESSAGE_BYTES_MAXIMUM} bytes")
    try:
        value = parse_json(text)
    except ValueError as error:
        raise refusal("unreadable-body", f"the subscription can't be read: {error}") from error
    return validated(SubscribeRequest, value)


def view_of(asked: SubscribeRequest) -> View:
    """What the feed is asked for."""
    return View(asked.rate_hz, Form(asked.form), _by_place(asked.columns), _by_place(asked.rows))


def _by_place(names: Mapping[PlaceName, Sequence[str]] | None) -> dict[Place, tuple[str, ...]] | None:
    if names is None:
        return None
    return {Place(place): tuple(dict.fromkeys(listed)) for place, listed in names.items()}


@dataclass(frozen=True, slots=True)
class _Greeting:
    """What a snapshot is sent with: to whom, and by which version."""

    person: PersonView
    version: str

    def around(self, fresh: Fresh) -> tuple[str, bytes]:
        """The snapshot's message, made of the snapshot as the feed encoded it once for all, and the recent past."""
        snapshot = msgspec.Raw(fresh.snapshot_json)
        body = {"type": "snapshot", "person": self.person, "version": self.version, "snapshot": snapshot}
        return msgspec.json.encode(body).decode(), fresh.recent


async def _send_all(websocket: WebSocket, subscription: Subscription, greeting: _Greeting) -> Ending:
    """Send what the subscription gives, until it ends or the client no longer takes it."""
    while messages := await subscription.next():
        for message in messages:
            pieces = greeting.around(message) if isinstance(message, Fresh) else (message,)
            try:
                async with asyncio.timeout(SEND_WITHIN_S):
                    await _send(websocket, pieces)
            except TimeoutError:
                return Ending(TRY_LATER, "the connection did not keep up")
            except (WebSocketDisconnect, OSError, RuntimeError):
                return _GONE
    return Ending(GOING_AWAY, "the feed has ended")


async def _send(websocket: WebSocket, pieces: Sequence[str | bytes]) -> None:
    for piece in pieces:
        if isinstance(piece, str):
            await websocket.send_text(piece)
        else:
            await websocket.send_bytes(piece)


async def _listen(websocket: WebSocket) -> Ending:
    """Take what the client says, which changes nothing, and notice when it goes."""
    for _ in range(CLIENT_MESSAGES_MAXIMUM):
        message = await websocket.receive()
        if message["type"] == "websocket.disconnect":
            return _GONE
    return Ending(NOT_ACCEPTED, "too many messages; after the subscription there is nothing to say")


async def _until_over(desk: Desk, session: Session) -> Ending:
    with contextlib.suppress(TimeoutError):
        async with asyncio.timeout(max(0.0, desk.sessions.seconds_left(session))):
            await session.ended.wait()
    return Ending(NOT_ACCEPTED, "the session has ended")


async def _until_stopping(desk: Desk) -> Ending:
    await desk.live.stopping.wait()
    return Ending(GOING_AWAY, "the console is stopping")


async def _first_of(*endings: Coroutine[Any, Any, Ending]) -> Ending:
    """Run all until the first has ended, then end the others."""
    tasks = [asyncio.create_task(ending) for ending in endings]
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    return next(iter(task for task in tasks if task in done)).result()


async def _say_bye(websocket: WebSocket, ending: Ending) -> None:
    if not ending.reason:
        return
    with contextlib.suppress(TimeoutError, WebSocketDisconnect, OSError, RuntimeError):
        async with asyncio.timeout(BYE_WITHIN_S):
            await websocket.send_text(msgspec.json.encode(ByeMessage(ending.reason)).decode())
            await websocket.close(ending.code)
    _log.info("a live connection ended: %s", ending.reason)
