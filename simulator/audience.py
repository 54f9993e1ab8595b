"""Who is told a device's news, and which client asked for what."""

from __future__ import annotations

from typing import Protocol

from fleet.model.settings import Cause
from fleet.protocol.messages import Changed, NotificationBody, Outcome, Progress


class Listener(Protocol):
    """A conversation that wants a device's news. ``label`` is what its client calls itself."""

    @property
    def label(self) -> str:
        """What the client calls itself."""

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

    def tell(self, news: NotificationBody, but: Listener | None = None) -> None:
        """Tell everybody, or all but one."""
        for listener in self._listeners:
            if listener is not but:
                listener.hear(news)

    def asked(self, command_id: str, asker: Listener) -> None:
        """Remember who asked for a command."""
        self._askers[command_id] = asker

    def progressed(self, progress: Progress) -> None:
        """Tell whoever asked how far an act is."""
        asker = self._askers.get(progress.command_id)
        if asker is not None:
            asker.hear(progress)

    def ended(self, outcome: Outcome) -> None:
        """Tell whoever asked what became of a command; nobody when they are gone."""
        asker = self._askers.pop(outcome.command_id, None)
        if asker is not None:
            asker.hear(outcome)

    def changed(self, news: Changed) -> None:
        """Tell of a change; that a command made it is news of another client's to all but the one that asked."""
        if news.cause is not Cause.COMMAND:
            self.tell(news)
            return
        others = Changed(news.address, news.revision, Cause.OTHER_CLIENT, news.settings, news.command_id)
        asker = self._askers.get(news.command_id)
        for listener in self._listeners:
            listener.hear(news if listener is asker else others)
