"""The return link between a receiver and a pack: requests with a delay and a reach, and what is known by it."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass

from fleet.model.fields import Value
from simulator.pack import Pack, PackReport

# A sleeping pack listens now and then; requests to it take this much longer.
ASLEEP_DELAY_US = 1_000_000
GIVE_UP_US = 3_000_000
REQUESTS_MAXIMUM = 16
NEWS_MAXIMUM = 256
POLLS_KEPT = 10


@dataclass(frozen=True, slots=True)
class Delivered:
    """The pack took the changes of a command and said so."""

    command_id: str
    changes: Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class Declined:
    """The pack takes nothing: it sleeps, which nobody here knew, or was set otherwise while the command waited."""

    command_id: str
    reason: str


@dataclass(frozen=True, slots=True)
class Undelivered:
    """No reply came in time; what became of the command can't be told from here."""

    command_id: str


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A command was given up before it was sent."""

    command_id: str
    reason: str


@dataclass(frozen=True, slots=True)
class Noticed:
    """The pack was found to be set otherwise than was known."""

    changes: Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class _Pending:
    command_id: str
    changes: Mapping[str, Value]
    deliver_us: int
    give_up_us: int
    seen: Mapping[str, Value]


News = Delivered | Declined | Undelivered | Withdrawn | Noticed
_NOTHING: Mapping[str, Value] = {}


class ReturnLink:
    """One pack's return link and what the receiver knows of the pack.

    ``held`` keeps requests and replies waiting, however long; ``dropped`` loses them; out of range they are lost, too.
    A pack whose cells give out says so once as it goes; whether that is heard is up to carrier and link. Where no link
    ``exists``, the carrier alone tells how the pack is set and how it does, and nobody but a hand sets it.
    """

    def __init__(self, pack: Pack, delay_ms: float, *, exists: bool = True) -> None:
        self.pack = pack
        self.exists = exists
        self.held = False
        self.dropped = False
        self.in_range = True
        self.known_settings: dict[str, Value] = dict(pack.settings)
        self.known: PackReport = pack.report()
        self.last_seen_us = 0
        self._heard = False
        self._parted = False
        self._delay_us = round(delay_ms * 1000)
        self._pending: deque[_Pending] = deque()
        self._polls: deque[bool] = deque(maxlen=POLLS_KEPT)
        self._news: deque[News] = deque(maxlen=NEWS_MAXIMUM)  # The oldest is lost when nobody listens.

    @property
    def reachable(self) -> bool:
        """Whether a request would be answered now."""
        return self._carries and not self.pack.dead

    @property
    def _carries(self) -> bool:
        return self.exists and self.in_range and not (self.dropped or self.held)

    @property
    def told_by_carrier(self) -> bool:
        """Whether a pack without a return link is heard, and so tells how it is set."""
        return self._heard and not self.exists

    @property
    def busy(self) -> bool:
        """Whether a request is under way, so that nobody can say yet how the pack is set."""
        return bool(self._pending)

    @property
    def full(self) -> bool:
        """Whether no further request is taken."""
        return len(self._pending) >= REQUESTS_MAXIMUM

    @property
    def quality(self) -> float:
        """Share of the last ten polls that were answered."""
        return sum(self._polls) / len(self._polls) if self._polls else 1.0

    def send(
        self, command_id: str, changes: Mapping[str, Value], now_us: int, seen: Mapping[str, Value] = _NOTHING
    ) -> None:
        """Send a request to the pack; look at ``busy`` or ``full`` before.

        The pack takes it only while it is set as was ``seen``: somebody may have turned it in the hand meanwhile.
        """
        deliver_us = now_us + self._delay_us + (ASLEEP_DELAY_US if self.pack.asleep else 0)
        self._pending.append(_Pending(command_id, changes, deliver_us, now_us + GIVE_UP_US, seen))

    def set_by_hand(self, command_id: str, changes: Mapping[str, Value]) -> None:
        """Somebody does at the pack what a command asks for; what comes of it is told once the pack tells."""
        self.pack.apply(changes)
        if self.reachable or self._heard:
            self.known_settings.update(changes)
            self._news.append(Delivered(command_id, changes))
        else:
            self._news.append(Undelivered(command_id))

    def forget(self) -> None:
        """Lose what is under way, as a receiver does when it reboots."""
        self._pending.clear()
        self._news.clear()

    @property
    def has_news(self) -> bool:
        """Whether anything happened since."""
        return bool(self._news)

    def take_news(self) -> list[News]:
        """What happened since it was last asked."""
        news = list(self._news)
        self._news.clear()
        return news

    def advance(self, now_us: int) -> bool:
        """Deliver what is due; whether the pack was set otherwise by it."""
        changed = False
        while self._pending and not self.held and self._pending[0].deliver_us <= now_us:
            request = self._pending[0]
            if self.reachable:
                changed |= self._deliver(request, now_us)
            elif now_us >= request.give_up_us:
                self._news.append(Undelivered(request.command_id))
            else:
                break
            self._pending.popleft()
        return changed

    def _deliver(self, request: _Pending, now_us: int) -> bool:
        if self.pack.asleep and "standby" not in request.changes:
            self._news.append(Declined(request.command_id, "the pack is asleep"))
            return False
        if any(self.pack.settings[name] != value for name, value in request.seen.items()):
            self._news.append(Declined(request.command_id, "the pack was set otherwise while it slept"))
            return False
        self.pack.apply(request.changes)
        self.known_settings.update(request.changes)
        self._refresh(now_us)
        self._news.append(Delivered(request.command_id, request.changes))
        return True

    def poll(self, now_us: int, *, heard: bool) -> None:
        """Ask the pack how it does, as the receiver does every second; ``heard`` says its carrier tells as well."""
        self._polls.append(self.reachable)
        if self.reachable or (heard and not self.exists):
            self._notice_settings()
        if self.reachable or heard or self._hears_goodbye():
            self._refresh(now_us)
        self._heard = heard

    def _hears_goodbye(self) -> bool:
        """Whether a dying pack's last word arrives: by its carrier, if that was heard until now, or by this link."""
        goes = self.pack.dead and not self._parted
        self._parted = self.pack.dead and not self.held
        return goes and (self._heard or self._carries)

    def _notice_settings(self) -> None:
        settings = self.pack.settings
        changes = {name: value for name, value in settings.items() if self.known_settings[name] != value}
        if changes:
            self.known_settings.update(changes)
            self._news.append(Noticed(changes))

    def _refresh(self, now_us: int) -> None:
        self.known = self.pack.report()
        self.last_seen_us = now_us
