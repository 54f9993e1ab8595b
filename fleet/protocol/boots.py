"""Which boot each device behind a connection was greeted in."""

from __future__ import annotations

from fleet.errors import MalformedMessage, UnexpectedMessage
from fleet.protocol.messages import Described, Heartbeat, HelloResult, Leased, Notice, NotificationBody

CONNECTION = ""
"""Stands for the connection as a whole: a device by itself, or the gateway."""


class Boots:
    """The boots as ``hello`` gave them, and later ones of devices behind a gateway.

    A device that ``hello`` gave no boot of its own shares the connection's.
    """

    def __init__(self) -> None:
        self._boots: dict[str, str] = {}
        self._own: frozenset[str] = frozenset()

    def greet(self, hello: HelloResult) -> None:
        """Take in who is there.

        Raises MalformedMessage where a device is named twice.
        """
        boots = {summary.id: summary.boot_id or hello.boot_id for summary in hello.devices}
        if len(boots) != len(hello.devices):
            raise MalformedMessage("hello result: a device is named twice")
        self._boots = {**boots, CONNECTION: hello.boot_id}
        self._own = frozenset(summary.id for summary in hello.devices if summary.boot_id)

    def of(self, target: str) -> str:
        """The present boot of a device, or of the connection; empty when nobody of that name was greeted."""
        return self._boots.get(target, "")

    def ends_the_conversation(self, beat: Heartbeat) -> bool:
        """Whether a heartbeat shows that whoever was greeted is gone."""
        return beat.target not in self._own and beat.boot_id != self.of(beat.target)

    def restarted(self, beat: Heartbeat) -> str:
        """The boot before, when a heartbeat shows that a device behind the gateway restarted; else empty."""
        before = self.of(beat.target)
        if beat.target not in self._own or beat.boot_id == before:
            return ""
        self._boots[beat.target] = beat.boot_id
        return before

    def require_known(self, body: NotificationBody) -> None:
        """Hold a notification to the devices that were greeted.

        Raises UnexpectedMessage when it is of another device, or says of none which of several has changed.
        """
        if not isinstance(body, Heartbeat | Leased | Described | Notice):
            return
        if body.target not in self._boots:
            raise UnexpectedMessage(f"word of {body.target}, which was not greeted", "this conversation")
        alone = len(self._boots) == len((CONNECTION, "the device"))
        if isinstance(body, Described) and body.target == CONNECTION and not alone:
            raise UnexpectedMessage("described without a target, of several devices", "this conversation")
