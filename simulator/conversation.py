"""One conversation with a virtual device: the device's end of the protocol, without any input or output."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from fleet.errors import ProtocolError
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import METHOD_OF, NotificationBody, ResultBody
from fleet.protocol.received import Request
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from simulator.device import SimulatedDevice, changed_exact
from simulator.gear import Exact
from simulator.world import BLOCK_US
from simulator.writes import Refused

HEARTBEAT_US = 1_000_000
INTERVAL_LONGEST_MS = 10_000
SUBSCRIPTIONS_MAXIMUM = 16
NEWS_MAXIMUM = 1_000
_BLOCK_MS = BLOCK_US // 1000
_STREAMING = frozenset({SessionState.LIVE})


@dataclass(slots=True)
class _Subscription:
    number: int
    interval_blocks: int
    sequence: int = 0
    seen_block: int = -1
    exact: Exact = field(default_factory=dict)


class Conversation:
    """One client's conversation. Feed it what comes in and the time, send what it gives back, in order.

    ``closed`` says that the connection is to be dropped, and ``reason`` why.
    """

    def __init__(self, device: SimulatedDevice) -> None:
        self.closed = False
        self.reason = ""
        self._device = device
        self._session = Session(Role.DEVICE)
        self._news: deque[NotificationBody] = deque()
        self._subscriptions: dict[int, _Subscription] = {}
        self._next_subscription = 1
        self._heartbeat_due_us = 0
        device.audience.listen(self)

    def hear(self, news: NotificationBody) -> None:
        """Take the device's news; a client that lets a thousand of them pile up is dropped."""
        if len(self._news) >= NEWS_MAXIMUM:
            self._end(f"more than {NEWS_MAXIMUM} messages wait for a client that doesn't read")
            return
        self._news.append(news)

    def hang_up(self) -> None:
        """End it because the device restarts."""
        self._end("the device restarts")

    def drop(self, reason: str) -> None:
        """End it for that reason; the connection is to be closed."""
        self._end(reason)

    def close(self) -> None:
        """The connection is gone."""
        self._end("the client left")
        self._device.audience.forget(self)

    def receive(self, data: str | bytes, now_us: int) -> list[bytes]:
        """Take a message in; what is to be sent in return, in order. A silent device loses what it is told."""
        self._device.advance(now_us)
        if self.closed or self._device.is_silent(now_us):
            return []
        try:
            received = self._session.receive(data)
        except ProtocolError as error:
            self._end(str(error))
            return list(self._session.outgoing())
        for message in received:
            if isinstance(message, Request):
                self._answer(message, now_us)
        return self._due(now_us, readings=True)

    def advance(self, now_us: int, *, readings: bool = True) -> list[bytes]:
        """Let time pass; what is due. Without ``readings``, for a client that is behind, frames merge meanwhile."""
        self._device.advance(now_us)
        if self.closed or self._device.is_silent(now_us):
            return []
        return self._due(now_us, readings=readings)

    def _end(self, reason: str) -> None:
        if not self.closed:
            self.closed = True
            self.reason = reason

    # ------------------------------------------------------------ what is due

    def _due(self, now_us: int, *, readings: bool) -> list[bytes]:
        while self._news:
            self._notify(self._news.popleft())
        self._beat(now_us)
        if readings and self._session.state in _STREAMING and self._device.world.blocks:
            for subscription in self._subscriptions.values():
                self._frame(subscription, now_us)
        return list(self._session.outgoing())

    def _notify(self, news: NotificationBody) -> None:
        """Pass news on; before the client knows the device it needs none, for it reads everything then."""
        if self._session.may_send(METHOD_OF[type(news)]):
            self._session.notify(news)

    def _beat(self, now_us: int) -> None:
        if now_us < self._heartbeat_due_us or not self._session.may_send("heartbeat"):
            return
        self._heartbeat_due_us = now_us - now_us % HEARTBEAT_US + HEARTBEAT_US
        device = self._device
        self._session.notify(messages.Heartbeat(device.device_time_us(now_us), device.boot_id, device.measured_blocks))

    def _frame(self, subscription: _Subscription, now_us: int) -> None:
        device = self._device
        last = device.world.blocks[-1].number
        if subscription.sequence and last - subscription.seen_block < subscription.interval_blocks:
            return
        since = subscription.seen_block if subscription.sequence else last - 1  # The first frame follows at once.
        values, qualities = device.readings(since, now_us)
        exact = device.exact(now_us)
        frame = messages.Readings(
            subscription.number,
            subscription.sequence,
            device.device_time_us(now_us),
            values,
            qualities,
            changed_exact(subscription.exact, exact),
        )
        self._session.notify(frame)
        subscription.sequence += 1
        subscription.seen_block = last
        subscription.exact = exact

    # ------------------------------------------------------------ answers

    def _answer(self, request: Request, now_us: int) -> None:
        params = request.params
        whole_device = isinstance(params, messages.Describe | messages.Subscribe | messages.Unsubscribe)
        elsewhere = whole_device and params.target != self._device.device_id
        answer = self._nothing_at(params.target) if elsewhere else self._answer_to(params, now_us)
        if isinstance(answer, Refused):
            self._session.refuse(request.request_id, answer.code, answer.words, dict(answer.data))
        else:
            self._session.answer(request.request_id, answer)

    def _answer_to(self, params: messages.RequestParams, now_us: int) -> ResultBody | Refused:
        time_us = self._device.device_time_us(now_us)
        match params:
            case messages.Hello():
                return self._greeting(time_us)
            case messages.Describe():
                return messages.DescribeResult(self._device.description, time_us)
            case messages.Read(target=target):
                return self._settings(target, now_us)
            case messages.Subscribe(interval_ms=interval):
                return self._subscribe(interval, time_us)
            case messages.Unsubscribe(subscription=number):
                return self._unsubscribe(number, time_us)
            case _:
                return self._answer_to_order(params, now_us)

    def _answer_to_order(
        self,
        params: messages.Write | messages.Cancel | messages.Act | messages.Lease | messages.Release,
        now_us: int,
    ) -> ResultBody | Refused:
        time_us = self._device.device_time_us(now_us)
        match params:
            case messages.Write():
                reply = self._device.write(params, now_us, self)
                return reply if isinstance(reply, Refused) else messages.WriteResult(reply.state, time_us)
            case messages.Cancel(command_id=command_id):
                return messages.CancelResult(self._device.cancel(command_id), time_us)
            case messages.Act():
                return Refused(ErrorCode.UNSUPPORTED, "this device knows no acts")
            case messages.Lease() | messages.Release():
                return Refused(ErrorCode.UNSUPPORTED, "this device gives no leases")

    def _nothing_at(self, target: str) -> Refused:
        return Refused(ErrorCode.UNSUPPORTED, f"this is {self._device.device_id}; nothing here is {target}")

    def _greeting(self, time_us: int) -> messages.HelloResult:
        device = self._device
        described = device.description
        summary = messages.DeviceSummary(device.device_id, described.kind, described.form, True, device.digest)
        return messages.HelloResult(messages.VERSIONS[0], device.boot_id, described.read_only, [summary], time_us)

    def _settings(self, target: str, now_us: int) -> messages.ReadResult | Refused:
        device = self._device
        time_us = device.device_time_us(now_us)
        exact = device.exact(now_us)
        if target == device.device_id:
            return messages.ReadResult([device.entry(address) for address in device.addresses()], exact, time_us)
        if any(target in carrier.branches for carrier in device.description.carriers):
            return messages.ReadResult([], {}, time_us)
        if target not in device.addresses():
            return self._nothing_at(target)
        refusal = device.why_unreadable(target)
        if refusal is not None:
            return refusal
        own = {target: exact[target]} if target in exact else {}
        return messages.ReadResult([device.entry(target)], own, time_us)

    def _subscribe(self, interval_ms: int, time_us: int) -> messages.SubscribeResult | Refused:
        """Grant whole blocks of time, ten seconds at the most."""
        if len(self._subscriptions) >= SUBSCRIPTIONS_MAXIMUM:
            return Refused(ErrorCode.BUSY, f"at most {SUBSCRIPTIONS_MAXIMUM} subscriptions", {"retry_after_s": 10.0})
        blocks = max(1, min(interval_ms, INTERVAL_LONGEST_MS) // _BLOCK_MS)
        number = self._next_subscription
        self._next_subscription += 1
        self._subscriptions[number] = _Subscription(number, blocks)
        return messages.SubscribeResult(number, blocks * _BLOCK_MS, self._device.layout(), time_us)

    def _unsubscribe(self, number: int, time_us: int) -> messages.UnsubscribeResult | Refused:
        if self._subscriptions.pop(number, None) is None:
            return Refused(ErrorCode.UNSUPPORTED, f"there is no subscription {number}")
        return messages.UnsubscribeResult(time_us)
