"""One device in a conversation: had described, read, leased and subscribed; then whatever is said of it handed on."""

from __future__ import annotations

from functools import partial

from fleet.adapters.adapter import Sink
from fleet.adapters.device_time import Pulse
from fleet.adapters.open_json_facts import (
    answer_of_outcome,
    answer_of_refusal,
    known_in,
    layout_of,
    progress_of,
    report_of,
    reports_of,
    require_known,
    require_listed,
)
from fleet.adapters.open_json_frames import FrameOutlet
from fleet.adapters.open_json_lease import LeaseKeeper
from fleet.adapters.open_json_line import Asked, Line
from fleet.config import DeviceAddress
from fleet.errors import MalformedMessage, SomeoneElse
from fleet.model.device import ContactState, DeviceDescription, Lease
from fleet.model.moment import Moment
from fleet.model.observation import Answer, CommandAnswer, Contact, Notice, Observation
from fleet.protocol import messages
from fleet.protocol.received import Gap, Refusal, Result

HELD_MAXIMUM = 1_000
_CHAIN = frozenset({"describe", "read", "subscribe"})


class PresentedDevice:
    """A device that ``hello`` listed, by itself or behind a gateway.

    Greeting is a chain: each answer sends the next request (describe, read, lease where it leases, subscribe). Only at
    its end is the device introduced to the sink, and whatever it said meanwhile follows. A device that announces a new
    description goes through the later part of the chain again without losing contact.
    """

    def __init__(
        self, summary: messages.DeviceSummary, listed: DeviceAddress, line: Line, sink: Sink, interval_ms: int
    ) -> None:
        self.device_id = summary.id
        self.gateway = "" if summary.id == listed.device_id else listed.device_id
        self.greeted = False
        self.known: frozenset[str] = frozenset()
        self.frames = FrameOutlet(summary.id, line, sink)
        self.lease = LeaseKeeper(summary.id, line, leases=summary.leases)
        self._listed = listed
        self._line = line
        self._sink = sink
        self._interval_ms = interval_ms
        self._description: DeviceDescription | None = None
        self._introducing = True
        self._outdated = False
        self._read_whole = False
        self._held: list[Observation] = []
        self._refused_reads: dict[str, str] = {}
        self._pulse = Pulse()

    @property
    def boot_id(self) -> str:
        """The boot that it is in."""
        return self._line.session.boots.of(self.device_id)

    def begin(self) -> None:
        """Have it described, and so on."""
        self._introducing = True
        self._line.ask(partial(self._line.session.describe, self.device_id), Asked(device_id=self.device_id))

    def restarted(self) -> None:
        """It is in another boot: what was agreed with it before holds no longer."""
        self.frames.end_all()
        self.greeted = False
        self._pulse = Pulse()
        self.begin()

    # ------------------------------------------------------------ answers

    def heard_result(self, result: Result, asked: Asked, at: Moment) -> None:
        """Take an answer in and go on with the chain; what makes no sense ends the contact, or this device's part."""
        try:
            self._take_result(result, asked, at)
        except (MalformedMessage, SomeoneElse) as error:
            if not self.gateway:
                raise
            self._set_aside(f"its answer to {result.method} can't be believed: {error}", at)

    def _take_result(self, result: Result, asked: Asked, at: Moment) -> None:
        body = result.body
        match body:
            case messages.DescribeResult():
                self._heard_description(body)
            case messages.ReadResult():
                self._heard_settings(body, asked, at)
            case messages.SubscribeResult():
                self._heard_layout(body, at)
            case messages.WriteResult() | messages.ActResult():
                answer = CommandAnswer(asked.command_id, Answer(body.state))
                self.emit(Observation(at, self.device_id, answers=(answer,)))
            case messages.LeaseResult():
                self._heard_lease(self.lease.heard(body), at)
            case messages.UnsubscribeResult():
                self.frames.end(-1 if asked.ending is None else asked.ending)
            case _:
                pass  # The outcome of a cancelled command follows by itself.

    def _heard_description(self, described: messages.DescribeResult) -> None:
        simulated = described.description.simulated
        require_listed(self._listed.device_id, simulated=simulated, listed=self._listed)
        self.known = known_in(described.description, self.device_id)
        self._description = described.description
        self._read_whole = False
        self._line.ask(partial(self._line.session.read, self.device_id), Asked(device_id=self.device_id))

    def _heard_settings(self, result: messages.ReadResult, asked: Asked, at: Moment) -> None:
        reports = reports_of(result, self.known)
        require_known(result.exact, self.known)
        self._refused_reads.pop(asked.read_back, None)
        read_back = (asked.read_back,) if asked.read_back else ()
        self.emit(Observation(at, self.device_id, exact=result.exact, reports=reports, read_back=read_back))
        if not asked.read_back:
            self._read_whole = True
            if self.lease.leases:
                self.lease.ask()
            subscribe = partial(self._line.session.subscribe, self.device_id, self._interval_ms)
            self._line.ask(subscribe, Asked(device_id=self.device_id))

    def _heard_lease(self, lease: Lease, at: Moment) -> None:
        self.emit(Observation(at, self.device_id, lease=lease))

    def _heard_layout(self, result: messages.SubscribeResult, at: Moment) -> None:
        layout = layout_of(result, self.known)
        for subscription in self.frames.subscriptions - self._line.ending():
            end = partial(self._line.session.unsubscribe, self.device_id, subscription)
            self._line.ask(end, Asked(device_id=self.device_id, ending=subscription))
        self.frames.open(result.subscription, layout)
        self.greeted = True
        self._introduce(at)

    def _introduce(self, at: Moment) -> None:
        """The description first, then, in order, what was said meanwhile."""
        self._sink(self.contact(at, self._description))
        self._introducing = False
        held, self._held = self._held, []
        for observation in held:
            self._sink(observation)
        if self._outdated:
            self.heard_described()

    def contact(self, at: Moment, description: DeviceDescription | None = None) -> Contact:
        """A fresh sign of it."""
        fresh = ContactState.FRESH
        return Contact(at, self.device_id, fresh, "", self.boot_id, description, reached_through=self.gateway)

    # ------------------------------------------------------------ refusals

    def heard_refusal(self, refusal: Refusal, asked: Asked, at: Moment) -> None:
        """Say what was refused. Raises ContactFailed for a device by itself that refuses the chain."""
        said = f"{refusal.method} {asked.read_back}".rstrip() + f": {refusal.word}: {refusal.words}"
        if asked.command_id:
            answer = answer_of_refusal(asked.command_id, refusal)
            self.emit(Observation(at, self.device_id, answers=(answer,)))
        elif asked.lease:
            self._heard_lease(self.lease.refused(), at)
        elif asked.read_back:
            self._read_refused(asked.read_back, refusal.word, said, at)
        elif refusal.method not in _CHAIN:
            self.emit(Observation(at, self.device_id, notices=(Notice(refusal.word, said),)))
        elif self.gateway:
            self._set_aside(f"the gateway refused to {said}", at)
        else:
            raise self._line.failed(f"the device refused to {said}")

    def _set_aside(self, reason: str, at: Moment) -> None:
        """A device behind a gateway that can't be introduced is lost, the others stay; it is asked when it stirs."""
        self.greeted = True
        self._held.clear()
        self._description = None
        self._sink(Contact(at, self.device_id, ContactState.LOST, reason, reached_through=self.gateway))

    def _read_refused(self, address: str, word: str, said: str, at: Moment) -> None:
        """Say so once: reads of an unknown outcome go on for as long as it is unknown, and would fill the journal."""
        if self._refused_reads.get(address) != word:
            self._refused_reads[address] = word
            self.emit(Observation(at, self.device_id, notices=(Notice(word, said),)))

    # ------------------------------------------------------------ news

    def heard_changed(self, changed: messages.Changed, at: Moment) -> None:
        """A change; one before the whole was read stands in what is read."""
        if not changed.command_id:
            self._line.count_change()
        if self._read_whole:
            self.emit(Observation(at, self.device_id, reports=(report_of(changed, self.known),)))

    def heard_outcome(self, outcome: messages.Outcome, at: Moment) -> None:
        """The end of a command."""
        self.emit(Observation(at, self.device_id, answers=(answer_of_outcome(outcome),)))

    def heard_progress(self, progress: messages.Progress, at: Moment) -> None:
        """How far an act is."""
        self.emit(Observation(at, self.device_id, progress=(progress_of(progress),)))

    def heard_leased(self, leased: messages.Leased, at: Moment) -> None:
        """Another has the lease, or nobody. Each time becomes an event, so that they are counted as changes are."""
        self._line.count_change()
        if self.lease.leases:
            self._heard_lease(self.lease.leased(leased), at)

    def heard_words(self, code: str, words: str, at: Moment) -> None:
        """Something to be said to people."""
        self.emit(Observation(at, self.device_id, notices=(Notice(code, words),)))

    def heard_gap(self, gap: Gap, at: Moment) -> None:
        """Frames are missing."""
        words = f"{gap.received - gap.expected} frames of readings are missing"
        self.heard_words("readings gap", words, at)

    def heard_heartbeat(self, heartbeat: messages.Heartbeat, at: Moment) -> bool:
        """A heartbeat of the device; whether it is fresh, which is told where the device was introduced."""
        fresh = self._pulse.beat(heartbeat.device_time_us, heartbeat.counter)
        too_old = self._line.is_too_old(self._line.age_us(heartbeat.device_time_us, at))
        if not fresh or too_old or not self.greeted:
            return False
        if self._description is None:
            self.begin()  # It was set aside, and stirs.
            return False
        if self.lease.leases:
            self.lease.ask_when_due(at)
        self._sink(self.contact(at))
        return True

    def heard_described(self) -> None:
        """Have the device described again; where that is under way, once more afterwards."""
        self._outdated = self._introducing
        if not self._introducing:
            self.begin()

    def emit(self, observation: Observation) -> None:
        """Hand an observation on; while the device is being introduced it waits, with at most a thousand others."""
        if not self._introducing:
            self._sink(observation)
            return
        if self.greeted and self._description is None:
            return  # It was set aside: nothing that it says can be understood.
        if len(self._held) >= HELD_MAXIMUM:
            raise MalformedMessage(f"more than {HELD_MAXIMUM} messages while it was asked what it is")
        self._held.append(observation)
