"""One conversation with a virtual device or gateway: the device's end of the protocol, without input or output."""

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
from simulator.endpoint import Endpoint
from simulator.gear import Exact
from simulator.world import BLOCK_US
from simulator.writes import Refused

HEARTBEAT_US = 1_000_000
INTERVAL_LONGEST_MS = 10_000
SUBSCRIPTIONS_MAXIMUM = 16
NEWS_MAXIMUM = 1_000
_BLOCK_MS = BLOCK_US // 1000
_STREAMING = frozenset({SessionState.LIVE})
_WHOLE_DEVICE = messages.Describe | messages.Subscribe | messages.Unsubscribe | messages.Lease | messages.Release
_Order = messages.Write | messages.Act | messages.Cancel | messages.Lease | messages.Release


@dataclass(slots=True)
class _Subscription:
    number: int
    device: SimulatedDevice
    boot_id: str
    interval_blocks: int
    sequence: int = 0
    seen_block: int = -1
    exact: Exact = field(default_factory=dict)


class Conversation:
    """One client's conversation. Feed it what comes in and the time, send what it gives back, in order.

    ``closed`` says that the connection is to be dropped, and ``reason`` why; ``label`` is what the client calls itself.
    """

    def __init__(self, endpoint: Endpoint) -> None:
        self.closed = False
        self.reason = ""
        self.label = "somebody"
        self._endpoint = endpoint
        self._session = Session(Role.DEVICE)
        self._news: deque[NotificationBody] = deque()
        self._subscriptions: dict[int, _Subscription] = {}
        self._next_subscription = 1
        self._heartbeat_due_us = 0
        for device in endpoint.devices.values():
            device.audience.listen(self)

    def hear(self, news: NotificationBody) -> None:
        """Take a device's news; a client that lets a thousand of them pile up is dropped."""
        if len(self._news) >= NEWS_MAXIMUM:
            self._end(f"more than {NEWS_MAXIMUM} messages wait for a client that doesn't read")
            return
        self._news.append(news)

    def hang_up(self) -> None:
        """End it because the device restarts. Behind a gateway the conversation goes on, and a heartbeat tells."""
        if self._endpoint.alone is not None:
            self._end("the device restarts")

    def drop(self, reason: str) -> None:
        """End it for that reason; the connection is to be closed."""
        self._end(reason)

    def close(self) -> None:
        """The connection is gone, and the leases with it."""
        self._end("the client left")
        for device in self._endpoint.devices.values():
            device.free_lease(self)
            device.audience.forget(self)

    def receive(self, data: str | bytes, now_us: int) -> list[bytes]:
        """Take a message in; what is to be sent in return, in order. A silent device loses what it is told."""
        self._endpoint.advance(now_us)
        if self.closed or self._endpoint.is_silent(now_us):
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
        self._endpoint.advance(now_us)
        if self.closed or self._endpoint.is_silent(now_us):
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
        if now_us >= self._heartbeat_due_us and self._session.may_send("heartbeat"):
            self._heartbeat_due_us = now_us - now_us % HEARTBEAT_US + HEARTBEAT_US
            self._beat(now_us)
        if readings and self._session.state in _STREAMING and self._endpoint.world.blocks:
            for subscription in self._subscriptions.values():
                self._frame(subscription, now_us)
        return list(self._session.outgoing())

    def _notify(self, news: NotificationBody) -> None:
        """Pass news on; before the client knows the device it needs none, for it reads everything then."""
        if self._session.may_send(METHOD_OF[type(news)]):
            self._session.notify(news)

    def _beat(self, now_us: int) -> None:
        """The heartbeat of the connection, and those of the devices behind a gateway that it hears from."""
        endpoint, time_us = self._endpoint, self._endpoint.time_us(now_us)
        self._session.notify(messages.Heartbeat(time_us, endpoint.boot_id, endpoint.measured_blocks))
        if endpoint.alone is not None:
            return
        for device in endpoint.devices.values():
            if device.is_silent(now_us):
                continue
            beat = messages.Heartbeat(time_us, device.boot_id, device.measured_blocks, device.device_id)
            self._session.notify(beat)
            self._forget_boots_before(device)

    def _forget_boots_before(self, device: SimulatedDevice) -> None:
        """A device that restarted has no subscriptions any more."""
        self._subscriptions = {
            number: each
            for number, each in self._subscriptions.items()
            if each.device is not device or each.boot_id == device.boot_id
        }

    def _frame(self, subscription: _Subscription, now_us: int) -> None:
        device = subscription.device
        last = device.world.blocks[-1].number
        if subscription.sequence and last - subscription.seen_block < subscription.interval_blocks:
            return
        if device.is_silent(now_us) or subscription.boot_id != device.boot_id:
            return
        since = subscription.seen_block if subscription.sequence else last - 1  # The first frame follows at once.
        values, qualities = device.readings(since, now_us)
        exact = device.exact(now_us)
        frame = messages.Readings(
            subscription.number,
            subscription.sequence,
            self._endpoint.time_us(now_us),
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
        answer = self._answer_to(request.params, now_us)
        if isinstance(answer, Refused):
            self._session.refuse(request.request_id, answer.code, answer.words, dict(answer.data))
        else:
            self._session.answer(request.request_id, answer)

    def _answer_to(self, params: messages.RequestParams, now_us: int) -> ResultBody | Refused:
        if isinstance(params, messages.Hello):
            return self._greeting(params, self._endpoint.time_us(now_us))
        device = self._endpoint.device_at(params.target)
        if device is None or (isinstance(params, _WHOLE_DEVICE) and params.target != device.device_id):
            here = ", ".join(self._endpoint.devices)
            return Refused(ErrorCode.UNSUPPORTED, f"this is {here}; nothing here is {params.target}")
        if device.is_silent(now_us):
            return Refused(ErrorCode.UNREACHABLE, f"{self._endpoint.gateway} hears nothing from {device.device_id}")
        return self._answer_of(device, params, now_us)

    def _answer_of(self, device: SimulatedDevice, params: messages.RequestParams, now_us: int) -> ResultBody | Refused:
        time_us = self._endpoint.time_us(now_us)
        match params:
            case messages.Describe():
                return messages.DescribeResult(device.description, time_us)
            case messages.Read(target=target):
                return self._settings(device, target, now_us)
            case messages.Subscribe(interval_ms=interval):
                return self._subscribe(device, interval, time_us)
            case messages.Unsubscribe(subscription=number):
                return self._unsubscribe(number, time_us)
            case messages.Hello():
                return self._greeting(params, time_us)
            case _:
                return self._answer_to_order(device, params, now_us)

    def _answer_to_order(self, device: SimulatedDevice, order: _Order, now_us: int) -> ResultBody | Refused:
        time_us = self._endpoint.time_us(now_us)
        match order:
            case messages.Write():
                reply = device.write(order, now_us, self)
                return reply if isinstance(reply, Refused) else messages.WriteResult(reply.state, time_us)
            case messages.Act():
                reply = device.act(order, now_us, self)
                return reply if isinstance(reply, Refused) else messages.ActResult(reply.state, time_us)
            case messages.Cancel(command_id=command_id):
                cancelled = device.cancel(command_id, self)
                return cancelled if isinstance(cancelled, Refused) else messages.CancelResult(cancelled, time_us)
            case messages.Lease() | messages.Release():
                return self._lease(device, order, now_us)

    def _lease(
        self, device: SimulatedDevice, order: messages.Lease | messages.Release, now_us: int
    ) -> ResultBody | Refused:
        time_us = self._endpoint.time_us(now_us)
        if not device.lease.exists:
            return Refused(ErrorCode.UNSUPPORTED, f"{device.device_id} gives no leases")
        if isinstance(order, messages.Release):
            device.free_lease(self)
            return messages.ReleaseResult(time_us)
        granting = device.give_lease(order, now_us, self)
        return messages.LeaseResult(granting.granted, granting.holder, granting.remaining_s, time_us)

    def _greeting(self, hello: messages.Hello, time_us: int) -> messages.HelloResult:
        self.label = hello.client or self.label
        endpoint = self._endpoint
        read_only = all(device.description.read_only for device in endpoint.devices.values())
        return messages.HelloResult(messages.VERSIONS[0], endpoint.boot_id, read_only, endpoint.summaries(), time_us)

    def _settings(self, device: SimulatedDevice, target: str, now_us: int) -> messages.ReadResult | Refused:
        time_us = self._endpoint.time_us(now_us)
        exact = device.exact(now_us)
        if target == device.device_id:
            return messages.ReadResult([device.entry(address) for address in device.addresses()], exact, time_us)
        if target not in device.described_addresses:
            return Refused(ErrorCode.UNSUPPORTED, f"{device.device_id} has no {target}")
        refusal = device.why_unreadable(target)
        if refusal is not None:
            return refusal
        own = {target: exact[target]} if target in exact else {}
        entries = [device.entry(target)] if target in device.addresses() else []
        return messages.ReadResult(entries, own, time_us)

    def _subscribe(self, device: SimulatedDevice, interval_ms: int, time_us: int) -> messages.SubscribeResult | Refused:
        """Grant whole blocks of time, ten seconds at the most."""
        if len(self._subscriptions) >= SUBSCRIPTIONS_MAXIMUM * len(self._endpoint.devices):
            return Refused(ErrorCode.BUSY, f"at most {SUBSCRIPTIONS_MAXIMUM} subscriptions", {"retry_after_s": 10.0})
        blocks = max(1, min(interval_ms, INTERVAL_LONGEST_MS) // _BLOCK_MS)
        number = self._next_subscription
        self._next_subscription += 1
        self._subscriptions[number] = _Subscription(number, device, device.boot_id, blocks)
        return messages.SubscribeResult(number, blocks * _BLOCK_MS, device.layout(), time_us)

    def _unsubscribe(self, number: int, time_us: int) -> messages.UnsubscribeResult | Refused:
        if self._subscriptions.pop(number, None) is None:
            return Refused(ErrorCode.UNSUPPORTED, f"there is no subscription {number}")
        return messages.UnsubscribeResult(time_us)
