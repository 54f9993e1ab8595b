"""One conversation of the device protocol, for either end, without any input or output of its own.

Feed ``receive`` with each message that comes in and send what ``outgoing`` gives, in order. A session that raised a
ProtocolError is FAULTED: send what is left in ``outgoing`` (an error for the other end, sometimes), then drop the
connection. Nothing of the message that raised was handed on.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import UNSET

from fleet.errors import LimitReached, MalformedMessage, ProtocolError, UnexpectedMessage, VersionMismatch
from fleet.protocol import codec, messages
from fleet.protocol.boots import CONNECTION, Boots
from fleet.protocol.codec import LIMITS, Envelope, Limits
from fleet.protocol.codes import ErrorCode, word_of
from fleet.protocol.received import Rebooted, Received, Refusal, Request, Result
from fleet.protocol.subscriptions import Subscriptions
from fleet.protocol.transitions import (
    ENDED,
    OTHER_BOOT,
    Role,
    SessionState,
    next_state,
    refusal_of,
    result_of,
)
from fleet.protocol.versions import negotiate


class Session:
    """One end of one conversation.

    ``state`` is how far it has come, ``version`` the one in force, ``boots`` those of the devices once greeted.
    """

    def __init__(self, role: Role, *, limits: Limits = LIMITS) -> None:
        self.role = role
        self.state = SessionState.OPENING
        self.boots = Boots()
        self.version = ""
        self._peer = Role.DEVICE if role is Role.CONSOLE else Role.CONSOLE
        self._limits = limits
        self._outgoing: list[bytes] = []
        self._next_id = 1
        self._pending: dict[int, messages.RequestParams] = {}
        self._subscriptions = Subscriptions()

    # ------------------------------------------------------------ both ends

    def outgoing(self) -> tuple[bytes, ...]:
        """What must be sent now, in order; each is given once."""
        drained = tuple(self._outgoing)
        self._outgoing.clear()
        return drained

    @property
    def boot_id(self) -> str:
        """The boot of the device, or of the gateway, once it was greeted."""
        return self.boots.of(CONNECTION)

    @property
    def has_outgoing(self) -> bool:
        """Whether anything must be sent."""
        return bool(self._outgoing)

    def close(self) -> None:
        """Say that the connection has ended. Requests that were pending stay unanswered."""
        if self.state not in ENDED:
            self.state = SessionState.CLOSED
        self._pending.clear()
        self._subscriptions.clear()

    def may_send(self, message: str) -> bool:
        """Whether this end may send that message of the table now."""
        return next_state(self.role, self.state, message) is not None

    def receive(self, data: str | bytes) -> tuple[Received, ...]:
        """Take one message in and return what it means, in order.

        Raises MalformedMessage, UnexpectedMessage or VersionMismatch, after which the session is FAULTED.
        """
        try:
            readings = codec.plain_readings(data, self._limits) if self.role is Role.CONSOLE else None
            if readings is not None:
                return self._heard_readings(readings)
            return self._receive(codec.checked_bytes(data, self._limits))
        except ProtocolError as error:
            self._fault(error)
            raise

    # ------------------------------------------------------------ the console's requests

    def hello(self, client: str, versions: tuple[str, ...] = messages.VERSIONS) -> int:
        """Greet the device. Each request returns its id, under which the Result or Refusal will come."""
        return self._request("hello", messages.Hello("", list(versions), client))

    def describe(self, target: str) -> int:
        """Ask for the description of a device."""
        return self._request("describe", messages.Describe(target))

    def read(self, target: str) -> int:
        """Ask for the settings and exact readings of an address, or of all that a device controls."""
        return self._request("read", messages.Read(target))

    def write(self, target: str, command_id: str, revision: str, changes: Mapping[str, messages.Setting]) -> int:
        """Ask for settings to change."""
        return self._request("write", messages.Write(target, command_id, revision, dict(changes)))

    def cancel(self, target: str, command_id: str) -> int:
        """Give up a write that waits, or an act."""
        return self._request("cancel", messages.Cancel(target, command_id))

    def act(self, target: str, command_id: str, act: str, arguments: Mapping[str, messages.Setting]) -> int:
        """Ask for something to be done that is no setting."""
        return self._request("act", messages.Act(target, command_id, act, dict(arguments)))

    def lease(self, target: str, seconds: int, *, take: bool = False) -> int:
        """Ask to be, or to stay, the one client that may write to a device."""
        return self._request("lease", messages.Lease(target, seconds, take))

    def release(self, target: str) -> int:
        """Give the lease of a device back."""
        return self._request("release", messages.Release(target))

    def subscribe(self, target: str, interval_ms: int) -> int:
        """Ask for readings."""
        return self._request("subscribe", messages.Subscribe(target, interval_ms))

    def unsubscribe(self, target: str, subscription: int) -> int:
        """Ask for readings to end."""
        return self._request("unsubscribe", messages.Unsubscribe(target, subscription))

    # ------------------------------------------------------------ the device's answers

    def answer(self, request_id: int, result: messages.ResultBody) -> None:
        """Answer a request.

        Raises UnexpectedMessage when no such request waits, or waits for another kind of answer.
        """
        params = self._waiting(request_id)
        method = messages.METHOD_OF[type(params)]
        if not isinstance(result, messages.RESULTS[method]):
            raise UnexpectedMessage(f"{type(result).__name__} to {method}", self.state.value)
        self._say(result_of(method), codec.encode_result(request_id, result))
        del self._pending[request_id]
        self._note_result(params, result)

    def refuse(self, request_id: int, code: ErrorCode, words: str, data: dict[str, Any] | None = None) -> None:
        """Answer a request with an error.

        Raises UnexpectedMessage when no such request waits.
        """
        method = messages.METHOD_OF[type(self._waiting(request_id))]
        self._say(refusal_of(method), codec.encode_error(request_id, code, words, data))
        del self._pending[request_id]

    def notify(self, body: messages.NotificationBody) -> None:
        """Tell the console something.

        Raises UnexpectedMessage when this state doesn't allow it (``may_send`` tells beforehand), the subscription
        isn't open, or the device was not greeted. A heartbeat of another boot of a device behind a gateway ends that
        device's subscriptions.
        """
        if isinstance(body, messages.Readings) and body.subscription not in self._subscriptions:
            raise UnexpectedMessage(f"readings of subscription {body.subscription}", self.state.value)
        if self.may_send(messages.METHOD_OF[type(body)]):
            self.boots.require_known(body)
        self._say(messages.METHOD_OF[type(body)], codec.encode_notification(body))
        if isinstance(body, messages.Heartbeat) and self.boots.restarted(body):
            self._subscriptions.end_of(body.target)

    # ------------------------------------------------------------ speaking

    def _request(self, method: str, params: messages.RequestParams) -> int:
        if len(self._pending) >= self._limits.pending_requests:
            raise LimitReached("unanswered requests to a device", self._limits.pending_requests)
        request_id = self._next_id
        self._say(method, codec.encode_request(request_id, method, params))
        self._next_id += 1
        self._pending[request_id] = params
        return request_id

    def _waiting(self, request_id: int) -> messages.RequestParams:
        """The request of that id that waits for an answer."""
        params = self._pending.get(request_id)
        if params is None:
            raise UnexpectedMessage(f"an answer to request {request_id}", self.state.value)
        return params

    def _say(self, message: str, encoded: bytes) -> None:
        following = next_state(self.role, self.state, message)
        if following is None:
            raise UnexpectedMessage(message, self.state.value)
        self._put(encoded)
        self.state = following

    def _put(self, encoded: bytes) -> None:
        if len(self._outgoing) >= self._limits.outgoing_messages:
            raise LimitReached("messages waiting to be sent", self._limits.outgoing_messages)
        self._outgoing.append(encoded)

    def _fault(self, error: ProtocolError) -> None:
        """End the conversation; a device tells the console why, where an answer isn't on its way already."""
        told = isinstance(error, VersionMismatch) or self.state in ENDED
        self.state = SessionState.FAULTED
        self._pending.clear()
        self._subscriptions.clear()
        if self.role is Role.CONSOLE or told:
            return
        malformed = isinstance(error, MalformedMessage)
        code = ErrorCode.PARSE_ERROR if malformed else ErrorCode.INVALID_REQUEST
        self._outgoing.append(codec.encode_error(None, code, str(error)))

    # ------------------------------------------------------------ listening

    def _receive(self, data: bytes) -> tuple[Received, ...]:
        if self.state in ENDED:
            raise UnexpectedMessage("a message", self.state.value)
        envelope = codec.decode_envelope(data)
        if envelope.method is not UNSET:
            _refuse_members(envelope, "result", "error")
            if envelope.id is UNSET:
                return self._heard_notification(envelope.method, envelope)
            return self._heard_request(envelope.method, envelope)
        return self._heard_response(envelope)

    def _hear(self, message: str) -> None:
        following = next_state(self._peer, self.state, message)
        if following is None:
            raise UnexpectedMessage(message, self.state.value)
        self.state = following

    def _heard_request(self, method: str, envelope: Envelope) -> tuple[Received, ...]:
        request_id = envelope.id
        if not isinstance(request_id, int):
            raise MalformedMessage("the id of a request is a whole number")
        if method not in messages.REQUESTS or self.role is Role.CONSOLE:
            self._put(codec.encode_error(request_id, ErrorCode.UNKNOWN_METHOD, f"unknown method {method[:64]!r}"))
            return ()
        if request_id in self._pending:
            raise UnexpectedMessage(f"request id {request_id} twice", self.state.value)
        params = self._params(request_id, method, envelope)
        if params is None or self._answered_busy(request_id, params):
            return ()
        self._hear(method)
        self._pending[request_id] = params
        if isinstance(params, messages.Hello):
            self._negotiate(request_id, params)
        return (Request(request_id, params),)

    def _answered_busy(self, request_id: int, params: messages.RequestParams) -> bool:
        """Answer a request that would pass a bound; the conversation goes on."""
        words = ""
        if len(self._pending) >= self._limits.pending_requests:
            words = f"at most {self._limits.pending_requests} requests may wait for an answer"
        elif isinstance(params, messages.Subscribe) and len(self._subscriptions) >= self._limits.subscriptions:
            words = f"at most {self._limits.subscriptions} subscriptions on one connection"
        if words:
            self._put(codec.encode_error(request_id, ErrorCode.BUSY, words, {"retry_after_s": 1.0}))
        return bool(words)

    def _params(self, request_id: int, method: str, envelope: Envelope) -> messages.RequestParams | None:
        """The parameters, or None when they were answered as invalid; the conversation goes on then."""
        if envelope.params is UNSET:
            self._put(codec.encode_error(request_id, ErrorCode.INVALID_PARAMS, f"{method}: params are missing"))
            return None
        try:
            params: messages.RequestParams = codec.decode_body(method, envelope.params, messages.REQUESTS[method])
        except MalformedMessage as error:
            self._put(codec.encode_error(request_id, ErrorCode.INVALID_PARAMS, error.reason))
            return None
        return params

    def _negotiate(self, request_id: int, hello: messages.Hello) -> None:
        if negotiate(messages.VERSIONS, hello.versions) is not None:
            return
        mismatch = VersionMismatch(messages.VERSIONS, hello.versions)
        words = f"this device speaks {', '.join(messages.VERSIONS)}"
        self.refuse(request_id, ErrorCode.NO_COMMON_VERSION, words, {"versions": list(messages.VERSIONS)})
        raise mismatch

    def _heard_notification(self, name: str, envelope: Envelope) -> tuple[Received, ...]:
        shape = messages.NOTIFICATIONS.get(name)
        if shape is None or self.role is Role.DEVICE:
            return ()  # A later version's; there is nobody to answer.
        if envelope.params is UNSET:
            raise MalformedMessage(f"{name}: params are missing")
        body: messages.NotificationBody = codec.decode_body(name, envelope.params, shape)
        if isinstance(body, messages.Readings):
            return self._heard_readings(body)
        if isinstance(body, messages.Heartbeat) and self.boot_id:
            return self._heard_heartbeat(body)
        self._hear(name)
        self.boots.require_known(body)
        return (body,)

    def _heard_heartbeat(self, beat: messages.Heartbeat) -> tuple[Received, ...]:
        self.boots.require_known(beat)
        if self.boots.ends_the_conversation(beat):
            self._hear(OTHER_BOOT)
            return (Rebooted(self.boot_id, beat.boot_id),)
        self._hear("heartbeat")
        before = self.boots.restarted(beat)
        if not before:
            return (beat,)
        self._subscriptions.end_of(beat.target)
        return (Rebooted(before, beat.boot_id, beat.target), beat)

    def _heard_readings(self, frame: messages.Readings) -> tuple[Received, ...]:
        if self.state is not SessionState.LIVE:  # The only row of the table that has readings; it stays there.
            raise UnexpectedMessage("readings", self.state.value)
        gap = self._subscriptions.count(frame, self.state.value)
        return (frame,) if gap is None else (gap, frame)

    def _heard_response(self, envelope: Envelope) -> tuple[Received, ...]:
        if self.role is Role.DEVICE:
            raise UnexpectedMessage("a response", self.state.value)
        if envelope.id is None and envelope.error is not UNSET:
            raise MalformedMessage(f"the device could not take a message of ours: {envelope.error.message[:120]}")
        params = self._pending.get(envelope.id) if isinstance(envelope.id, int) else None
        if params is None or not isinstance(envelope.id, int):
            raise UnexpectedMessage("a response to no request of ours", self.state.value)
        method = messages.METHOD_OF[type(params)]
        if envelope.error is not UNSET:
            _refuse_members(envelope, "result")
            return self._heard_refusal(envelope.id, method, envelope.error)
        if envelope.result is UNSET:
            raise MalformedMessage("a response has either result or error")
        body: messages.ResultBody = codec.decode_body(f"{method} result", envelope.result, messages.RESULTS[method])
        self._hear(result_of(method))
        del self._pending[envelope.id]
        self._note_result(params, body)
        return (Result(envelope.id, method, body),)

    def _heard_refusal(self, request_id: int, method: str, error: codec.ErrorBody) -> tuple[Received, ...]:
        if method == "hello" and error.code == ErrorCode.NO_COMMON_VERSION:
            theirs = error.data.get("versions")
            named = [str(version)[:16] for version in theirs[:16]] if isinstance(theirs, list) else ["others"]
            raise VersionMismatch(messages.VERSIONS, named)
        self._hear(refusal_of(method))
        del self._pending[request_id]
        return (Refusal(request_id, method, error.code, word_of(error.code), error.message, error.data),)

    def _note_result(self, params: messages.RequestParams, body: messages.ResultBody) -> None:
        """Remember what later messages are held against."""
        if isinstance(body, messages.HelloResult):
            if negotiate(messages.VERSIONS, [body.version]) is None:
                raise VersionMismatch(messages.VERSIONS, [body.version])
            self.boots.greet(body)
            self.version = body.version
        elif isinstance(params, messages.Subscribe) and isinstance(body, messages.SubscribeResult):
            self._subscriptions.open(body.subscription, params.target, self.state.value)
        elif isinstance(params, messages.Unsubscribe):
            self._subscriptions.end(params.subscription)


def _refuse_members(envelope: Envelope, *names: str) -> None:
    for name in names:
        if getattr(envelope, name) is not UNSET:
            raise MalformedMessage(f"{name!r} does not belong in this message")
