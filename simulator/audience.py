"""Who is told a device's news, and which client asked for what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from fleet.model.fields import Value
from fleet.model.settings import Cause
from fleet.protocol.messages import Changed, NotificationBody, Outcome


class Listener(Protocol):
    """A conversation that wants a device's news."""

    def hear(self, news: NotificationBody) -> None:
        """Take a notification to pass on."""

    def hang_up(self) -> None:
        """The device restarts: the conversation is over, unless others stand behind the same connection."""


class Audience:
    """The listeners of one device, and the commands whose outcome they wait for."""

    def __init__(self) -> None:
        self._listeners: list[Listener] = []
        self._askers: dict[str, Listener] = {}

    @property
    def listeners(self) -> tuple[Listener, ...]:
        """Who is told the news."""
        return tuple(self._listeners)

    def listen(self, listener: Listener) -> None:
        """Tell this conversation all news from now on."""
        self._listeners.append(listener)

    def forget(self, listener: Listener) -> None:
        """Tell it nothing any more."""
        if listener in self._listeners:
            self._listeners.remove(listener)
        self._askers = {command_id: asker for command_id, asker in self._askers.items() if asker is not listener}

    def hang_up(self) -> None:
        """The device restarts; whoever hears it says so to its client."""
        self._askers.clear()
        for listener in self.listeners:
            listener.hang_up()

    def tell(self, news: NotificationBody) -> None:
        """Tell everybody."""
        for listener in self._listeners:
            listener.hear(news)

    def asked(self, command_id: str, asker: Listener) -> None:
        """Remember who asked for a command."""
        self._askers[command_id] = asker

    def ended(self, outcome: Outcome) -> None:
        """Tell what became of a command."""
        self._askers.pop(outcome.command_id, None)
        self.tell(outcome)

    def changed(self, news: Changed) -> None:
        """Tell of a change; that a command made it is news of another client's to all but the one that asked."""
        if news.cause is not Cause.COMMAND:
            self.tell(news)
            return
        others = Changed(news.address, news.revision, Cause.OTHER_CLIENT, news.settings, news.command_id)
        asker = self._askers.get(news.command_id)
        for listener in self._listeners:
            listener.hear(news if listener is asker else others)


Changes = Mapping[str, Value]
